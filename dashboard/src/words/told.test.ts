import { beforeAll, describe, expect, it } from 'vitest'
import type { Telling } from '@/api/types'
import { useZone } from './time'
import {
  briefly,
  changesWords,
  laterWords,
  notReached,
  standsMark,
  tellingMark,
  tellingWords,
  turnWords,
} from './told'

const now = new Date('2026-11-25T16:00:00Z')
const one: Telling = {
  receiver: 'r',
  name: 'County dispatch',
  way: 'webhook',
  member: null,
  state: 'taken',
  since: '2026-11-25T14:20:00Z',
  taken_at: '2026-11-25T14:21:00Z',
  problem: null,
  acknowledged: null,
}
beforeAll(() => useZone('UTC'))

describe('what was told', () => {
  it('says what it became and what it was', () => {
    expect(standsMark({ after: 'none' }).word).toBe('None')
    expect(turnWords({ at: '2026-11-25T14:20:00Z', before: 'full' }, now)).toBe('since 14:20, full before')
    expect(changesWords(['rig_falls', 'district_short'])).toBe(
      'rigs that can do less, districts that fall short',
    )
  })
  it('marks nothing as sound that is so by the records alone', () => {
    const untried = standsMark({ after: 'full', confirmed: false })
    expect([untried.word, untried.tone]).toEqual(['Full, not confirmed', 'weak'])
    expect(standsMark({ after: 'full', confirmed: true }).tone).toBe('sound')
    const enough = { after: 'enough' as const, min_full: 6 }
    expect(standsMark({ ...enough, confirmed_full: 4 }).word).toBe('Enough full rigs, not all confirmed')
    expect(standsMark({ ...enough, confirmed_full: 6 }).word).toBe('Enough full rigs')
    // One from before this was told says nothing of it.
    expect(standsMark({ ...enough, confirmed_full: null }).word).toBe('Enough full rigs')
    const later = { at: '2026-11-25T15:10:00Z', after: 'full' as const }
    expect(laterWords(later, now)).toBe('full since 15:10')
    expect(laterWords({ ...later, confirmed: false }, now)).toBe('full, not confirmed, since 15:10')
  })
  it('never lets a machine that took it pass for somebody who knows', () => {
    expect(tellingMark(one).word).toBe('Reached, not acknowledged')
    expect(tellingWords(one, now)).toBe(
      'by web message. Their machine took it at 14:21; nobody there has said that they know.',
    )
    expect(notReached(one)).toBe(false)
  })
  it('says of a phone what is known: that a notice left, and who has said that they saw it', () => {
    const phone: Telling = { ...one, name: 'Ann Lee', way: 'phone', member: 'm' }
    expect(tellingMark(phone).word).toBe('Sent, not seen yet')
    expect(tellingWords(phone, now)).toBe(
      'by a notice on their phone. It left at 14:21; they have not said that they saw it.',
    )
    const at = '2026-11-25T14:30:00Z'
    const by = (id: string, name: string): Telling => ({
      ...phone,
      acknowledged: { at, by: { id, name }, through: 'member', note: null },
    })
    expect(tellingWords(by('m', 'Ann Lee'), now)).toBe(
      'by a notice on their phone. Ann Lee has seen it, 14:30.',
    )
    expect(tellingWords(by('n', 'Bo Ray'), now)).toBe('Bo Ray confirmed at 14:30 that they know.')
    const gone: Telling = { ...phone, state: 'stopped', problem: 'The phone was signed out' }
    expect(tellingWords(gone, now)).toBe(
      'Nothing was sent: The phone was signed out. Tell them by telephone or radio.',
    )
  })
  it('says why nobody was reached and what to do', () => {
    const failing: Telling = { ...one, state: 'failing', problem: 'It answered 500' }
    expect(tellingWords(failing, now)).toMatch(
      /since 14:20: its machine has a fault\. It is tried again by itself/,
    )
    const off: Telling = { ...one, state: 'stopped', problem: 'The receiver was switched off' }
    expect(tellingWords(off, now)).toBe(
      'Nothing was sent: The receiver was switched off. Tell them by telephone or radio.',
    )
    expect(tellingWords({ ...off, state: 'given_up' }, now)).toMatch(/tried for a day, until 14:20/)
    expect([failing, off].every(notReached)).toBe(true)
  })
  it('puts those who stand alike into one line on a board, who was not reached first', () => {
    const lines = briefly([
      one,
      { ...one, name: 'Mutual aid', state: 'given_up' },
      { ...one, name: 'Desk 2' },
    ])
    expect(lines.map(({ names, words }) => [names, words])).toEqual([
      ['Mutual aid', 'Tell them by telephone or radio.'],
      ['County dispatch, Desk 2', 'Nobody there has said that they know.'],
    ])
  })
  it('says who acknowledged it, and of a member that it is the member’s word', () => {
    const by = { id: null, name: 'Desk 3' }
    const at = '2026-11-25T14:30:00Z'
    const answered: Telling = { ...one, acknowledged: { at, by, through: 'answer', note: null } }
    expect(tellingWords(answered, now)).toBe(
      'by web message. Desk 3 acknowledged it at 14:30, in the answer.',
    )
    const member: Telling = {
      ...one,
      state: 'given_up',
      acknowledged: { at, by: { id: 'm', name: 'Ann Lee' }, through: 'member', note: 'by telephone' },
    }
    expect(tellingWords(member, now)).toBe('Ann Lee confirmed at 14:30 that they know: “by telephone”.')
    expect(notReached(member)).toBe(false)
  })
})
