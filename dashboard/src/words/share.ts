// Shares of a whole. Nearly all is not all, and nearly nothing is not nothing.
const ONE = new Intl.NumberFormat('en', { maximumFractionDigits: 1 })

/** "92.8 %", of a part of 1. */
export function shareWords(share: number | null | undefined): string {
  if (share === null || share === undefined) return 'unknown'
  if (share > 0 && share < 0.001) return 'under 0.1 %'
  if (share < 1 && share > 0.999) return '99.9 %'
  return `${amount(share * 100)} %`
}

/** A weight or a count, one decimal at most. */
export const amount = (value: number) => ONE.format(Math.round(value * 10) / 10 || 0)

export const minutesWords = (minutes: number | null | undefined) =>
  minutes === null || minutes === undefined ? 'time unknown' : `${amount(minutes)} min`

export const plural = (count: number, one: string, many = `${one}s`) =>
  `${count.toLocaleString('en')} ${count === 1 ? one : many}`
