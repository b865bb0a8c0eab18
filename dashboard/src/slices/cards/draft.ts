// What is typed into the form of a card, and the command that it makes. The service checks it; this only says what is still to be done.
import type { Write } from 'fullset-client'
import type { CardDraft, CardSubject, CardText } from '@/api/types'
import { SECTION_LIST, SECTIONS } from '@/words/card'

export const MOST_SECTION = 2_000
export const MOST_CARD = 10_000
export const MOST_PICTURES = 6

/** A copy that a form may change; of nothing an empty card. */
export function begin(text: CardText | null | undefined): CardText {
  const said = Object.fromEntries(SECTION_LIST.map((one) => [one, text?.[one] ?? '']))
  return {
    ...(said as Omit<CardText, 'pictures'>),
    replaces: text?.replaces ?? null,
    pictures: (text?.pictures ?? []).map((one) => ({ ...one })),
  }
}

/** The same as it is sent: no spaces around, nothing of the form in it. */
export function ended(text: CardText): CardText {
  const whole = begin(text)
  for (const section of SECTION_LIST) whole[section] = whole[section].trim()
  whole.replaces = whole.replaces || null
  for (const picture of whole.pictures) picture.words = picture.words.trim()
  return whole
}

export const signsOf = (text: CardText) => SECTION_LIST.reduce((sum, one) => sum + [...text[one]].length, 0)

export function lacks(text: CardText): string[] {
  const said = ended(text)
  const all: string[] = []
  if (!signsOf(said)) all.push('say something in one section at least')
  if (signsOf(said) > MOST_CARD)
    all.push(`shorten it to ${MOST_CARD.toLocaleString('en')} characters in all sections together`)
  for (const section of SECTION_LIST)
    if ([...said[section]].length > MOST_SECTION)
      all.push(`shorten “${SECTIONS[section].title}” to ${MOST_SECTION.toLocaleString('en')} characters`)
  if (said.pictures.some((one) => !one.words)) all.push('say of each picture what it shows')
  return all
}

/** What keeps it: a new draft, or a change of one that was seen. */
export function draftWrite(
  id: string,
  subject: CardSubject,
  seen: CardDraft | undefined,
  from_version: number,
  text: CardText,
  note: string,
): Write<'card_draft.add'> | Write<'card_draft.edit'> {
  const body = { id, from_version, text: ended(text), note: note.trim() || null }
  return seen
    ? { kind: 'card_draft.edit', body: { ...body, id: seen.id }, expects: seen.rev }
    : { kind: 'card_draft.add', body: { ...body, subject } }
}
