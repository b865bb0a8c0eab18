import { vitePreprocess } from '@sveltejs/vite-plugin-svelte'
import { inComponents } from './breakpoints.js'

export default {
  preprocess: [vitePreprocess(), inComponents],
  compilerOptions: { runes: true },
}
