// What a browser says of itself, in words: people know their browser and their machine, not its versions.
import type { SignInShown } from '@/api/types'

const BROWSERS: [RegExp, string][] = [
  [/Edg(A|iOS)?\//, 'Edge'],
  [/OPR\//, 'Opera'],
  [/Firefox\/|FxiOS\//, 'Firefox'],
  [/Chrom(e|ium)\/|CriOS\//, 'Chrome'],
  [/Safari\//, 'Safari'],
]
const MACHINES: [RegExp, string][] = [
  [/iPhone/, 'an iPhone'],
  [/iPad/, 'an iPad'],
  [/Android/, 'Android'],
  [/Windows/, 'Windows'],
  [/Mac OS X/, 'a Mac'],
  [/CrOS/, 'a Chromebook'],
  [/Linux/, 'Linux'],
]
const named = (of: [RegExp, string][], text: string) => of.find(([sign]) => sign.test(text))?.[1]

/** "Firefox on Windows"; a program by its own first word. */
export function programWords(program: string | null | undefined): string {
  const text = program ?? ''
  const browser = named(BROWSERS, text)
  const machine = named(MACHINES, text)
  if (browser) return machine ? `${browser} on ${machine}` : browser
  const [first = ''] = text.split(/[\s/]/)
  return first ? `a program (${first.slice(0, 40)})` : 'a program'
}

/** What a sign-in is on: the name of the device, else the browser. */
export function whereWords(one: Pick<SignInShown, 'device' | 'program'>): string {
  const words = one.device ?? programWords(one.program)
  return `${words.slice(0, 1).toUpperCase()}${words.slice(1)}`
}
