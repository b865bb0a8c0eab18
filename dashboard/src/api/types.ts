// The wire shapes belong to the client; screens name them from here.
export type * from 'fullset-client'
