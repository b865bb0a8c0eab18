export { uuid7 } from 'fullset-client'
