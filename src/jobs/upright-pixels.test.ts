import { describe, expect, it } from 'vitest'
import { uprightPixels } from './upright-pixels.ts'

const stored = { width: 3, height: 2, channels: 1 as const, data: Uint8Array.of(1, 2, 3, 4, 5, 6) }

describe('a stored picture turned upright', () => {
  it('reads as the Exif standard’s figure of the eight orientations says', () => {
    const rows = (o: Parameters<typeof uprightPixels>[1]) => {
      const { width, data } = uprightPixels(stored, o)
      return Array.from({ length: data.length / width }, (_, y) => [...data.subarray(y * width, (y + 1) * width)])
    }
    expect(rows(1)).toEqual([
      [1, 2, 3],
      [4, 5, 6],
    ])
    expect(rows(3)).toEqual([
      [6, 5, 4],
      [3, 2, 1],
    ])
    // 6: stored row 0 is the right-hand side; stored column 0 is the top.
    expect(rows(6)).toEqual([
      [4, 1],
      [5, 2],
      [6, 3],
    ])
    expect(rows(8)).toEqual([
      [3, 6],
      [2, 5],
      [1, 4],
    ])
  })
})
