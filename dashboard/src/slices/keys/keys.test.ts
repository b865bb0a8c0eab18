import { expect, test } from 'vitest'
import type { ApiKey } from '@/api/types'
import { answers, overWords, scopeOf, scopeWords, untilOf } from './keys'

const at = new Date('2026-11-25T14:00:00Z')
const key = (more: Partial<ApiKey>): ApiKey => ({
  id: 'k',
  name: 'Dispatch board',
  scope: { of: 'read' },
  district: null,
  station: null,
  expires_at: '2026-12-25T14:00:00.000000Z',
  state: 'active',
  made_at: '2026-11-25T14:00:00.000000Z',
  made_by: { id: 'm', name: 'Ada Admin' },
  revoked_at: null,
  revoked_by: null,
  rev: 1,
  ...more,
})

test('a key is over when it ran out, was revoked, or its maker has left', () => {
  const makers = new Map([['m', true]])
  expect(answers(key({}), makers, at)).toBe(true)
  expect(answers(key({ expires_at: '2026-11-25T14:00:00.000000Z' }), makers, at)).toBe(false)
  expect(answers(key({ state: 'revoked' }), makers, at)).toBe(false)
  const left = new Map([['m', false]])
  expect(answers(key({}), left, at)).toBe(false)
  expect(overWords(key({}), left, at)).toBe('Ada Admin, who made it, has left')
})

test('a form makes a scope', () => {
  expect(scopeOf('read', 'crew', '')).toEqual({ of: 'read' })
  expect(scopeOf('role', 'officer', '')).toEqual({ of: 'role', role: 'officer' })
  expect(scopeOf('commands', 'crew', ' defect.report,\n piece.take_out\n')).toEqual({
    of: 'commands',
    kinds: ['defect.report', 'piece.take_out'],
  })
  expect(scopeWords({ of: 'commands', kinds: ['defect.report', 'use.record'] })).toBe(
    'reads and sends defect.report, use.record',
  )
  expect(untilOf(30, at)).toBe('2026-12-25T14:00:00.000Z')
})
