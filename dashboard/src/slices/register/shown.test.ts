import { expect, it } from 'vitest'
import { only } from './shown'

const file = [
  'Tag,Kind,Note\r\n',
  "'=CU-1,cutter,plain\r\n",
  '"SP,2",spreader,"two\r\nlines"\r\n',
  "HO-3,hose,'+1\r\n",
  "''HO-4,hose,\r\n",
].join('')

it('keeps the lines of what is shown as they are, in the order in which they are shown', () => {
  expect(only(file, ['HO-3', '=CU-1'])).toBe("Tag,Kind,Note\r\nHO-3,hose,'+1\r\n'=CU-1,cutter,plain\r\n")
})
it('does not cut a cell that holds a comma or a line end, nor one that begins with an apostrophe', () => {
  expect(only(file, ['SP,2'])).toBe('Tag,Kind,Note\r\n"SP,2",spreader,"two\r\nlines"\r\n')
  expect(only(file, ["'HO-4"])).toBe("Tag,Kind,Note\r\n''HO-4,hose,\r\n")
  expect(only(file, ['none'])).toBe('Tag,Kind,Note\r\n')
})
