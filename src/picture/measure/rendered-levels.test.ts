import { describe, expect, it } from 'vitest'
import { renderedLevels } from './rendered-levels.ts'

const picture = (width: number, height: number, code: (x: number, y: number) => readonly number[]) => {
  const codes = new Uint8Array(3 * width * height)
  for (let y = 0; y < height; y++) for (let x = 0; x < width; x++) codes.set(code(x, y), 3 * (y * width + x))
  return { codes, width, height, orientation: 1 as const, gimbalRoll: null }
}

describe('levels of a rendered picture', () => {
  it('are counted by code and marked as rendered', () => {
    const levels = renderedLevels(
      // A quarter red clipped, a quarter black, the rest at sRGB code 188: half the light of white (IEC 61966-2-1: 0.5029).
      picture(400, 300, (x) => (x < 100 ? [255, 100, 100] : x < 200 ? [0, 2, 0] : [188, 188, 188])),
    )
    expect(levels.basis).toBe('rendered')
    expect(levels.clipped).toEqual({ r: 0.25, g: 0, b: 0 })
    expect(levels.buried).toEqual([0.25])
    expect(levels.stops.g[0]).toBe(0.5)
    expect(levels.stops.luma[0]).toBe(0.5)
    expect([levels.noise, levels.banding, levels.blackAtMostCodes, levels.tilt]).toEqual([null, null, null, null])
  })

  it('tell tilt from the picture as raw frames do', () => {
    const roll = Math.tan((1.5 * Math.PI) / 180)
    const soft = (d: number) => 1 / (1 + Math.exp(-d))
    const { tilt } = renderedLevels(
      picture(800, 600, (x, y) => {
        // Upright walls lean by the tilt: right side low, so the foot of a wall stands to the right.
        const at = x - 400 - roll * (y - 300)
        let v = 60
        for (let k = -3; k <= 3; k++) v += (k & 1 ? -40 : 40) * soft(at - 97 * k)
        return [v, v, v]
      }),
    )
    expect(tilt!.basis).toBe('verticals')
    expect(Math.abs(tilt!.degrees - 1.5)).toBeLessThan(0.1)
  })

  it('of empty and tiny pictures are told without a fault', () => {
    for (const [w, h] of [
      [0, 0],
      [1, 1],
      [7, 300],
    ] as const) {
      const levels = renderedLevels(picture(w, h, () => [9, 9, 9]))
      expect(levels.clipped).toEqual({ r: 0, g: 0, b: 0 })
      expect(levels.tilt).toBeNull()
    }
  })
})
