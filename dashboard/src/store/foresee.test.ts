import { beforeAll, describe, expect, it } from 'vitest'
import type { AnyRecord, Kind, Level, NeedAnswer } from '@/api/types'
import { useZone } from '@/words/time'
import table from './foresee.cases.json'
import { lay } from './overlay'
import { foresee, seePiece, seeRig, type Facts, type PieceFacts, type WaitingAct } from './foresee'

beforeAll(() => useZone('UTC'))
const NOW = new Date('2026-11-25T15:00:00Z')
type Name = keyof typeof table.aboard

function scene(name: Name, defects: Record<string, string> = {}) {
  const aboard: PieceFacts[] = table.aboard[name].map(({ tag, kind, wet }) => ({
    id: tag,
    tag,
    kind: kind as Kind,
    rig: 'R',
    bound: null,
    wet,
  }))
  const facts: Facts = {
    piece: (id) => aboard.find((one) => one.id === id),
    about: (noun, id) => (noun === 'defect' ? defects[id] : undefined),
    aboard: () => aboard,
    failed: () => '',
  }
  const was = table.standings[name]
  const via = { by: 'line' as const, ...was.line }
  const needs: NeedAnswer[] = Object.entries(was.needs).map(([need, piece]) => ({
    need,
    name: need,
    met: true,
    pieces: [{ piece, via }],
  }))
  const standing = {
    level: was.level as Level,
    margin: was.margin as number | null,
    critical: was.critical,
    needs,
    holds_until: null as string | null,
    pending: false,
    known: true,
  }
  return { facts, standing }
}

describe('what this phone foresees of its own waiting acts', () => {
  it.each(table.cases.map((one) => [one.name, one] as const))('%s', (_, one) => {
    const { facts, standing } = scene(one.rig as Name, one.defects as Record<string, string> | undefined)
    const ahead = foresee(one.acts as WaitingAct[], facts)
    expect([...ahead.unusable.keys()].toSorted()).toEqual(one.unusable.toSorted())
    const rig = seeRig(standing, ahead.rigs.get('R'), facts.piece, NOW)
    expect(rig).toEqual({ level: 'full', counted: false, lowered: one.lowered, words: one.words })
    for (const id of one.unusable)
      expect(
        seePiece(id, { verdict: 'yes', holds_until: null, pending: false, known: true }, ahead, NOW),
      ).toMatchObject({
        verdict: 'no',
        counted: false,
      })
  })

  it.each(table.cases.map((one) => [one.name, one] as const))(
    'offers no more than is allowed: %s',
    (_, one) => {
      const records = new Map<string, AnyRecord>(
        table.aboard[one.rig as Name].map(({ tag, kind }) => [
          `piece/${tag}`,
          {
            id: tag,
            rev: 1,
            tag,
            kind,
            state: 'in_service',
            place: { at: 'rig', rig: 'R' },
            allows: table.allowed,
          },
        ]),
      )
      for (const [id, piece] of Object.entries(
        'defects' in one ? (one.defects as Record<string, string>) : {},
      ))
        records.set(`defect/${id}`, { id, rev: 1, piece, seen_again: 0, allows: ['defect.note'] })
      const items = one.acts.map((command) => ({
        command: { id: 'c', ...command },
        owner: 'ann',
        ownerName: 'Ann',
        queued_at: 0,
      }))
      const laid = lay(items, (kind, id) => records.get(`${kind}/${id}`))
      for (const [tag, offered] of Object.entries('allows' in one ? (one.allows ?? {}) : {}))
        expect(laid.records.get('piece')?.get(tag)?.['allows'], tag).toEqual(offered)
    },
  )

  it('gives nothing back: a return, a find, a close and an arrival raise nothing', () => {
    const { facts, standing } = scene('one_of_each', { D: 'CU-104' })
    const acts = ['piece.return', 'piece.found', 'defect.close', 'piece.arrive', 'rig.put_back'].map(
      (kind) => ({
        kind,
        body: { id: kind === 'defect.close' ? 'D' : kind === 'rig.put_back' ? 'R' : 'CU-104' },
      }),
    )
    const ahead = foresee(acts, facts)
    const rig = seeRig({ ...standing, level: 'none' }, ahead.rigs.get('R'), facts.piece, NOW)
    expect(rig).toMatchObject({ level: 'none', counted: false, lowered: false })
    expect(
      seePiece('CU-104', { verdict: 'no', holds_until: null, pending: false, known: true }, ahead, NOW),
    ).toMatchObject({
      verdict: 'no',
      counted: false,
    })
  })
  it('is careful where nobody has worked out what the rig can lose', () => {
    const { facts, standing } = scene('two_cutters')
    const ahead = foresee([{ kind: 'piece.take_out', body: { id: 'CU-104' } }], facts)
    expect(
      seeRig({ ...standing, margin: null, critical: [] }, ahead.rigs.get('R'), facts.piece, NOW).lowered,
    ).toBe(true)
  })
})

describe('an answer past its end', () => {
  const { facts, standing } = scene('one_of_each')
  const at = (holds_until: string | null, pending = false) =>
    seeRig({ ...standing, holds_until, pending }, undefined, facts.piece, NOW)
  it('is not counted any more, from the very instant on', () => {
    expect(at('2026-11-25T15:00:00.001Z')).toMatchObject({ counted: true, words: '' })
    expect(at('2026-11-25T15:00:00Z')).toMatchObject({
      level: 'full',
      counted: false,
      words: 'Not counted yet: judged until 15:00',
    })
  })
  it('nor while it is judged anew', () =>
    expect(at(null, true)).toMatchObject({ counted: false, words: 'Not counted yet: being judged anew' }))
  it('nor while what ran out is being settled', () =>
    expect(seeRig({ ...standing, known: false }, undefined, facts.piece, NOW)).toMatchObject({
      counted: false,
      words: expect.stringContaining('being settled'),
    }))
  it('nor of a piece', () => {
    const none = { unusable: new Map<string, string>(), pieces: new Set<string>() }
    expect(
      seePiece(
        'x',
        { verdict: 'yes', holds_until: '2026-11-25T14:20:00Z', pending: false, known: true },
        none,
        NOW,
      ),
    ).toMatchObject({
      verdict: 'yes',
      counted: false,
      words: 'Not counted yet: judged until 14:20',
    })
  })
  it('a rig that nobody has judged stays so, and is not called uncounted', () =>
    expect(seeRig({ ...standing, level: 'not_judged' }, undefined, facts.piece, NOW)).toEqual({
      level: 'not_judged',
      counted: true,
      lowered: false,
      words: '',
    }))
})
