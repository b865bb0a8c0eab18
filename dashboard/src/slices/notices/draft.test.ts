import { expect, it } from 'vitest'
import { EMPTY, issueBody, lacks, type Draft } from './draft'

const full: Draft = {
  ...EMPTY,
  number: ' 24-7 ',
  title: 'Handle may stick',
  issuer: 'The maker',
  dated: '2026-11-01',
  text: 'Look at the handle.',
  models: ['m1', 'm2'],
}

it('says what is still empty, and asks for what its act needs', () => {
  expect(lacks(EMPTY)).toHaveLength(6)
  expect(lacks(full)).toEqual([])
  expect(lacks({ ...full, asks: 'limit', words: ' ' })).toEqual(['how it may still be used'])
  expect(lacks({ ...full, asks: 'inspect_by' })).toEqual(['the day by which to inspect'])
})

it('makes the command: one number is a range of one, an empty row none, an empty date open', () => {
  const body = issueBody('n', {
    ...full,
    asks: 'inspect_by',
    by: '2027-01-31',
    words: 'left over',
    serials: [
      { from: ' KX-1 ', to: 'KX-9' },
      { from: 'KX-20', to: '' },
      { from: '', to: ' ' },
    ],
    made_to: '2024-12-31',
  })
  expect(body).toMatchObject({ id: 'n', number: '24-7', action: { do: 'inspect_by', by: '2027-01-31' } })
  expect(body.covers).toEqual({
    models: ['m1', 'm2'],
    serials: [
      { from: 'KX-1', to: 'KX-9' },
      { from: 'KX-20', to: 'KX-20' },
    ],
    made_from: null,
    made_to: '2024-12-31',
  })
})

it('makes a command that the outbox can keep, out of a draft that a screen watches', () => {
  const watched = {
    ...full,
    models: new Proxy(['m1'], {}),
    serials: new Proxy([{ from: 'A1', to: 'A2' }], {}),
  }
  expect(structuredClone(issueBody('n', watched)).covers.models).toEqual(['m1'])
})
