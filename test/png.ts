import { readFileSync } from 'node:fs'
import { inflateSync } from 'node:zlib'

/** An 8-bit RGB picture, three bytes a pixel. */
export interface BytePicture {
  readonly width: number
  readonly height: number
  readonly rgb: Uint8Array
}

/** A non-interlaced 8-bit RGB PNG (ISO/IEC 15948, clauses 9 and 11), for test pictures that are trusted. */
export function readPng(path: string): BytePicture {
  const file = readFileSync(path)
  const parts: Buffer[] = []
  let width = 0
  let height = 0
  for (let at = 8; at < file.length; ) {
    const length = file.readUInt32BE(at)
    const type = file.toString('latin1', at + 4, at + 8)
    const data = file.subarray(at + 8, at + 8 + length)
    if (type === 'IHDR') {
      width = data.readUInt32BE(0)
      height = data.readUInt32BE(4)
      if (data[8] !== 8 || data[9] !== 2 || data[12] !== 0) throw new Error(`not a plain 8-bit RGB PNG: ${path}`)
    }
    if (type === 'IDAT') parts.push(data)
    at += 12 + length
  }
  const packed = inflateSync(Buffer.concat(parts))
  const row = width * 3
  const rgb = new Uint8Array(row * height)
  for (let y = 0; y < height; y++) {
    const filter = packed[y * (row + 1)]!
    for (let x = 0; x < row; x++) {
      const i = y * row + x
      const left = x >= 3 ? rgb[i - 3]! : 0
      const up = y > 0 ? rgb[i - row]! : 0
      const upLeft = x >= 3 && y > 0 ? rgb[i - row - 3]! : 0
      rgb[i] = packed[y * (row + 1) + 1 + x]! + predicted(filter, left, up, upLeft)
    }
  }
  return { width, height, rgb }
}

function predicted(filter: number, left: number, up: number, upLeft: number): number {
  if (filter === 0) return 0
  if (filter === 1) return left
  if (filter === 2) return up
  if (filter === 3) return (left + up) >> 1
  const a = Math.abs(up - upLeft)
  const b = Math.abs(left - upLeft)
  const c = Math.abs(left + up - 2 * upLeft)
  return a <= b && a <= c ? left : b <= c ? up : upLeft
}
