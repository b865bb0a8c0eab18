import svelte from 'eslint-plugin-svelte'
import globals from 'globals'
import ts from 'typescript-eslint'
import house from './lint/ranks.js'
import svelteConfig from './svelte.config.js'

export default ts.config(
  { ignores: ['dist', 'node_modules', 'test-results', 'playwright-report'] },
  ...ts.configs.recommended,
  ...svelte.configs.recommended,
  { languageOptions: { globals: { ...globals.browser, ...globals.node } } },
  {
    files: ['**/*.svelte', '**/*.svelte.ts'],
    languageOptions: { parserOptions: { parser: ts.parser, extraFileExtensions: ['.svelte'], svelteConfig } },
  },
  {
    files: ['src/**'],
    plugins: { house },
    rules: {
      'house/ranks': 'error',
      'max-lines': ['error', 400],
      'no-console': 'error',
      'svelte/no-navigation-without-resolve': 'off',
      // Plain maps and dates are used on purpose: the store says itself when it changed.
      'svelte/prefer-svelte-reactivity': 'off',
    },
  },
)
