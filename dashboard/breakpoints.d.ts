import type { Plugin } from 'vite'

export const inStyles: Plugin
