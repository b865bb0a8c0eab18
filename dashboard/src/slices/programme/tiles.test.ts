import { expect, test } from 'vitest'
import { readTiles, sameTiles, typedTiles } from './tiles'

const TILES = {
  address: 'https://tiles.example.org/{z}/{x}/{y}.png',
  attribution: 'Example Mapping',
  nearest_zoom: 17,
}

test('an address without more is none, and what was kept reads as it was', () => {
  const nothing = typedTiles(null)
  expect(readTiles(nothing)).toBeNull()
  expect(readTiles(typedTiles(undefined))).toBeNull()
  expect(readTiles({ ...typedTiles(TILES), address: '  ' })).toBeNull()
  expect(readTiles(typedTiles(TILES))).toEqual(TILES)
})

test('an address is read however it was copied', () => {
  for (const address of [
    ' https://tiles.example.org/{z}/{x}/{y}.png ',
    'https://tiles.example.org/{Z}/{X}/{Y}.png',
    'https://tiles.example.org/${z}/${x}/${y}.png',
    'https://tiles.example.org/{ z }/{ x }/{ y }.png',
    'https://tiles.example.org/%7Bz%7D/%7bx%7d/%7By%7D.png',
    '"https://tiles.example.org/{z}/{x}/{y}.png"',
    "'https://tiles.example.org/{z}/{x}/{y}.png'",
  ])
    expect(readTiles({ ...typedTiles(TILES), address })).toEqual(TILES)
})

test('what is not meant for sure goes to the service as it is', () => {
  for (const address of [
    'https://{s}.tiles.example.org/{z}/{x}/{y}.png',
    'https://tiles.example.org/{z}/{x}/{-y}.png',
    'https://tiles.example.org/z/x/y.png',
    'tiles',
  ])
    expect(readTiles({ ...typedTiles(TILES), address })?.address).toBe(address)
  expect(readTiles({ ...typedTiles(TILES), attribution: ' ', nearest: '' })).toEqual({
    ...TILES,
    attribution: '',
    nearest_zoom: 0,
  })
})

test('a form that says what is kept has changed nothing', () => {
  expect(sameTiles(readTiles(typedTiles(TILES)), TILES)).toBe(true)
  expect(sameTiles(readTiles(typedTiles(null)), null)).toBe(true)
  expect(sameTiles(null, undefined)).toBe(true)
  expect(sameTiles(null, TILES)).toBe(false)
  for (const other of [{ address: 'x' }, { attribution: 'x' }, { nearest_zoom: 3 }])
    expect(sameTiles({ ...TILES, ...other }, TILES)).toBe(false)
})
