export type { Write } from 'fullset-client'
