// Pictures that the tests need. A film for the fake camera: the picture of a code, as a label on a grey piece, in a format that Chromium reads.
import { writeFileSync } from 'node:fs'
import { crc32, deflateSync } from 'node:zlib'
import { encode } from 'uqr'

export function film(file: string, text: string) {
  const width = 640
  const height = 480
  const { data, size } = encode(text, { ecc: 'Q', border: 4 })
  const cell = Math.floor((height * 0.6) / size)
  const left = (width - cell * size) >> 1
  const top = (height - cell * size) >> 1
  const light = Buffer.alloc(width * height, 130)
  for (let y = 0; y < cell * size; y++)
    for (let x = 0; x < cell * size; x++) {
      const dark = data[Math.floor(y / cell)]?.[Math.floor(x / cell)]
      light[(top + y) * width + left + x] = dark ? 24 : 225
    }
  const colour = Buffer.alloc((width * height) / 2, 128)
  const frame = Buffer.concat([Buffer.from('FRAME\n'), light, colour])
  const head = Buffer.from(`YUV4MPEG2 W${width} H${height} F15:1 Ip A1:1 C420\n`)
  writeFileSync(file, Buffer.concat([head, frame, frame, frame]))
}

/** A small picture of one colour, as a camera app would hand it over. */
export function picture(side = 64, grey = 120): Buffer {
  const chunk = (kind: string, data: Buffer) => {
    const named = Buffer.concat([Buffer.from(kind), data])
    const frame = Buffer.alloc(8)
    frame.writeUInt32BE(data.length, 0)
    frame.writeUInt32BE(crc32(named), 4)
    return Buffer.concat([frame.subarray(0, 4), named, frame.subarray(4)])
  }
  const head = Buffer.alloc(13)
  head.writeUInt32BE(side, 0)
  head.writeUInt32BE(side, 4)
  head.writeUInt8(8, 8)
  const rows = Buffer.alloc(side * (side + 1), grey)
  for (let y = 0; y < side; y++) rows[y * (side + 1)] = 0
  const sign = Buffer.from([0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a])
  return Buffer.concat([
    sign,
    chunk('IHDR', head),
    chunk('IDAT', deflateSync(rows)),
    chunk('IEND', Buffer.alloc(0)),
  ])
}
