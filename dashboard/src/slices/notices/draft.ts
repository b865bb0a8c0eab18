// What is typed into the form of a notice, and the command that it makes. The service checks it; this only says what is still empty.
import type { BodyOf } from 'fullset-client'

export interface Draft {
  number: string
  title: string
  issuer: string
  dated: string
  text: string
  asks: 'stop_use' | 'limit' | 'inspect_by'
  words: string
  by: string
  models: string[]
  serials: { from: string; to: string }[]
  made_from: string
  made_to: string
}
export const EMPTY: Draft = {
  number: '',
  title: '',
  issuer: '',
  dated: '',
  text: '',
  asks: 'stop_use',
  words: '',
  by: '',
  models: [],
  serials: [],
  made_from: '',
  made_to: '',
}
export const MOST_MODELS = 50
export const MOST_RANGES = 50

export function lacks(draft: Draft): string[] {
  const fields: [string, string][] = [
    [draft.number, 'its number'],
    [draft.title, 'its title'],
    [draft.issuer, 'who issued it'],
    [draft.dated, 'the day on it'],
    [draft.text, 'what it says'],
    [draft.asks === 'limit' ? draft.words : 'none', 'how it may still be used'],
    [draft.asks === 'inspect_by' ? draft.by : 'none', 'the day by which to inspect'],
    [draft.models[0] ?? '', 'the models'],
  ]
  return fields.flatMap(([value, name]) => (value.trim() ? [] : [name]))
}

function action(draft: Draft): BodyOf<'notice.issue'>['action'] {
  if (draft.asks === 'limit') return { do: 'limit', words: draft.words.trim() }
  if (draft.asks === 'inspect_by') return { do: 'inspect_by', by: draft.by }
  return { do: 'stop_use' }
}

/** One number alone is a range of one; a row left empty is none. Nothing of the draft itself is in it: the outbox keeps plain values. */
export function issueBody(id: string, draft: Draft): BodyOf<'notice.issue'> {
  const serials = draft.serials.flatMap(({ from, to }) => {
    const [first, last] = [from.trim(), to.trim()]
    return first || last ? [{ from: first || last, to: last || first }] : []
  })
  return {
    id,
    number: draft.number.trim(),
    title: draft.title.trim(),
    text: draft.text.trim(),
    issuer: draft.issuer.trim(),
    dated: draft.dated,
    action: action(draft),
    covers: {
      models: [...draft.models],
      serials,
      made_from: draft.made_from || null,
      made_to: draft.made_to || null,
    },
  }
}
