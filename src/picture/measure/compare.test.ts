import { describe, expect, it } from 'vitest'
import { residualOf } from './compare.ts'
import { madeBracket } from './made-bracket.fixture.ts'

describe('a frame held against the others of its bracket', () => {
  it('gives its true exposure to 0.015 stops where the tag is off, its veil and its drift', () => {
    let [worstStops, worstVeil, worstDrift] = [0, 0, 0]
    for (const [k, off] of [-0.07, 0, 0.05].entries())
      for (const drift of [0, 0.7, -1.6]) {
        const frames = madeBracket(
          [0.05, 0.2, 0.8].map((seconds, j) => ({
            seconds: j === k ? seconds * 2 ** off : seconds,
            drift: [j === k ? drift / 3 : 0, j === k ? drift : 0] as const,
            flash: () => (j === k ? 0.004 : 0),
          })),
          5 + k,
        )
        const tagged = frames.map((f, j) => (j === k ? { ...f, exposureStops: f.exposureStops - off } : f))
        const found = residualOf(tagged, k)!
        worstStops = Math.max(worstStops, Math.abs(found.slopeStops - off))
        worstVeil = Math.max(worstVeil, Math.abs(found.veil - 0.004) / 0.004)
        worstDrift = Math.max(worstDrift, Math.abs(found.drift![1] - drift))
      }
    console.log(
      `exposure worst ${worstStops.toFixed(4)} stops, veil ${(100 * worstVeil).toFixed(1)} %, drift ${worstDrift.toFixed(3)} cells`,
    )
    expect(worstStops).toBeLessThan(0.015)
    expect(worstVeil).toBeLessThan(0.1)
    expect(worstDrift).toBeLessThan(0.1)
  })

  it('is not tried with one frame, other sizes, or too few cells known in both', () => {
    const frames = madeBracket([{ seconds: 0.1 }, { seconds: 0.4 }], 1)
    const [a, b] = [frames[0]!, frames[1]!]
    expect(residualOf([a], 0)).toBeNull()
    expect(residualOf([a, { ...b, columns: 40, rows: 20, light: new Float32Array(800) }], 0)).toBeNull()
    expect(residualOf([a, { ...b, light: b.light.map(() => Number.NaN) }], 0)).toBeNull()
    expect(residualOf([a, { ...b, light: b.light.map(() => 0) }], 0)).toBeNull()
  })
})
