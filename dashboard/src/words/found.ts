// What the crew found on a usable piece, and the condition on which it may be used all the same.
import type { Defect, Reason } from '@/api/types'
import { said } from './said'

/** What a usable piece asks for before it is used: a condition, never what was found on it. */
export const conditionWords = (limit: string) =>
  /^only /i.test(limit) ? `Usable only if: ${limit.slice(5)}` : `Usable only like this: ${limit}`

/** The crew's own words, then the condition: where a reason gives the condition alone, it reads as if that had been found. */
export function foundWords(reason: Pick<Reason, 'code' | 'words' | 'since'>, defects: Defect[]): string {
  if (reason.code !== 'open-defect') return reason.words
  const at = (text: string | null | undefined) => (text ? Date.parse(text) : Number.NaN)
  const fits = defects.filter((one) => one.limit && reason.words.includes(one.limit.words))
  const found = fits.find((one) => at(one.seen_at) === at(reason.since)) ?? fits[0]
  const what = found?.what.replace(/[.;,\s]+$/, '')
  if (!found?.limit || !what || reason.words.includes(what)) return reason.words
  const { words } = found.limit
  return reason.words.replace(words, () => `${said(what)}. ${conditionWords(words)}`)
}

export const seenAgainWords = (times: number) =>
  times === 0
    ? ''
    : times === 1
      ? 'seen again once'
      : times === 2
        ? 'seen again twice'
        : `seen again ${times} times`
