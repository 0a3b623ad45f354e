import { describe, expect, it } from 'vitest'
import { boxMean, guidedBase } from './guided.ts'

const plane = (width: number, height: number, value: (x: number, y: number) => number) => ({
  width,
  height,
  data: Float32Array.from({ length: width * height }, (_, i) => value(i % width, Math.floor(i / width))),
})

describe('the box mean', () => {
  it('equals the mean taken from the definition, also at borders and with windows larger than the picture', () => {
    const p = plane(13, 9, (x, y) => Math.sin(x * 3 + y * y))
    for (const radius of [0, 1, 3, 20]) {
      const fast = boxMean(p, radius).data
      let worst = 0
      for (let y = 0; y < 9; y++) {
        for (let x = 0; x < 13; x++) {
          let sum = 0
          let n = 0
          for (let v = Math.max(0, y - radius); v <= Math.min(8, y + radius); v++) {
            for (let u = Math.max(0, x - radius); u <= Math.min(12, x + radius); u++, n++) sum += p.data[v * 13 + u]!
          }
          worst = Math.max(worst, Math.abs(fast[y * 13 + x]! - sum / n))
        }
      }
      expect(worst).toBeLessThan(1e-5)
    }
  })
})

/** Each value as a cell of its own. */
const moments = (p: ReturnType<typeof plane>) => ({ ...p, mean: p.data, square: p.data.map((v) => v * v) })

describe('the base', () => {
  it('beside a step of 2 stops or more strays from the flat side by no more than 0.08 stop', () => {
    const keep = 0.35
    let worst = 0
    for (const step of [2, 3, 4, 6, 10]) {
      const p = plane(200, 8, (x) => (x < 100 ? 0 : step))
      const { a, b } = guidedBase(moments(p), 20, keep)
      for (let x = 0; x < 200; x++) {
        const flat = x < 100 ? 0 : step
        worst = Math.max(worst, Math.abs(a[800 + x]! * flat + b[800 + x]! - flat))
      }
    }
    console.log(`base beside a step: strays by at most ${worst.toFixed(3)} stop`)
    expect(worst).toBeLessThanOrEqual(0.08)
  })

  it('leaves out texture well under the limit and follows structure well above it', () => {
    const fine = plane(100, 100, (x, y) => 0.05 * ((x + y) % 2))
    const soft = guidedBase(moments(fine), 10, 0.35)
    expect(soft.a[5050]).toBeLessThan(0.02)
    const rough = guidedBase(moments(plane(100, 100, (x, y) => 6 * ((x + y) % 2))), 10, 0.35)
    expect(rough.a[5050]).toBeGreaterThan(0.98)
  })
})
