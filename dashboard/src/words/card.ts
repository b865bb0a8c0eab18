// What stands on an operating card, and who answers for it.
import type { CardDraft, CardSection, CardText, OperatingCard } from '@/api/types'
import { said } from './said'
import { dateWords, moment } from './time'

/** The sections in their order, with what goes into each. */
export const SECTIONS: Record<CardSection, { title: string; hint: string }> = {
  stowed: { title: 'Stowed where', hint: 'Side, compartment, behind or under what.' },
  start: { title: 'Start', hint: 'Steps, one line each: “1. ”, “2. ”.' },
  levers: { title: 'Levers and valves', hint: 'Which does what, and where each stands at rest.' },
  controls: { title: 'Controls', hint: 'What opens, what closes, what happens when you let go.' },
  differs: {
    title: 'Different from what it replaces',
    hint: 'What somebody used to the old one gets wrong.',
  },
  shut_down: { title: 'Shut down', hint: '' },
  restow: { title: 'Restow', hint: 'How it is laid down, what is capped, what is hooked in.' },
  care: { title: 'Care', hint: 'After use: what is wiped, topped up, looked at.' },
  cautions: { title: 'Cautions of its own', hint: 'The usual ones stand below the card anyway.' },
}
export const SECTION_LIST = Object.keys(SECTIONS) as CardSection[]

/** What comes before every card. */
export const MANUAL_FIRST =
  'The maker’s manual and local orders come before this card. Only trained members operate.'

/** What a text says, section by section; those where nothing is said are left out. */
export function cardParts(text: CardText, replaced?: string) {
  return SECTION_LIST.flatMap((section) => {
    const pictures = text.pictures.filter((one) => one.section === section)
    const title = section === 'differs' && replaced ? `Different from ${replaced}` : SECTIONS[section].title
    return text[section] || pictures.length ? [{ key: section, title, text: text[section], pictures }] : []
  })
}

/** "Version 2, approved by Ann Lee on 3 Nov 2026; written by Bo Chan". */
export function cardStamp(
  card: Pick<OperatingCard, 'version' | 'approved_by' | 'approved_at' | 'written_by'>,
) {
  const approved = `Version ${card.version}, approved by ${card.approved_by.name} on ${dateWords(card.approved_at)}`
  return card.written_by.id === card.approved_by.id
    ? `${approved}, who wrote it too`
    : `${approved}; written by ${card.written_by.name}`
}

/** Why there is no card that counts. */
export function noCardWords(card: OperatingCard | undefined, now = new Date()): string {
  if (!card) return 'Nobody has written and approved an operating card yet.'
  return `Version ${card.version} was withdrawn ${moment(card.withdrawn_at, now)} by ${card.withdrawn_by?.name ?? 'somebody'}: ${said(card.withdrawn_reason, 'no reason given')}.`
}

/** Whether a draft was begun before the version that stands now. */
export const isBehind = (draft: Pick<CardDraft, 'from_version'>, card: OperatingCard | undefined) =>
  draft.from_version !== (card?.version ?? 0)
