import type { Address, Memory } from '../arena.ts'

/**
 * Camera values become scene-linear colour: white balance, the matrix, and lamps that clipped in every frame.
 *
 * A clipped lamp has lost its colour: its channels stand at one level in the camera's numbers, and white balance would
 * tint that (red and blue gain most: magenta). So with t = 3s² − 2s³, s running from 0 to 1 as the largest camera channel goes
 * from `clipLow` to `clipHigh` (both in reference units, about the saturation of the least exposed frame), each balanced
 * channel w moves to w + t·(max(w) − w): white at the level of its strongest channel. Elsewhere nothing changes.
 */
export interface WorkingKernel {
  /**
   * n pixels of three f32 rows, in place. `numbers`: f32 × 14: reciprocals of the camera's neutral (3), clipLow, clipHigh, then
   * the matrix from balanced camera values (neutral = 1, 1, 1) to the working colours, row order (9). Up to 3 floats past
   * n may be read, none is written.
   */
  workingRow(red: Address, green: Address, blue: Address, n: number, numbers: Address): void
}

export const WORKING_NUMBERS = 14

export function plainWorking(memory: Memory): WorkingKernel {
  return {
    workingRow(red, green, blue, n, numbers) {
      const rows = [red, green, blue].map((at) => memory.f32(at, n)) as [Float32Array, Float32Array, Float32Array]
      const k = memory.f32(numbers, WORKING_NUMBERS)
      const f = Math.fround
      for (let i = 0; i < n; i++) {
        const [r, g, b] = [rows[0][i]!, rows[1][i]!, rows[2][i]!]
        const s = Math.min(1, Math.max(0, f(f(Math.max(r, g, b) - k[3]!) / f(k[4]! - k[3]!))))
        const t = f(f(s * s) * f(3 - f(s + s)))
        let [u, v, w] = [f(r * k[0]!), f(g * k[1]!), f(b * k[2]!)]
        const top = Math.max(u, v, w)
        u = f(u + f(t * f(top - u)))
        v = f(v + f(t * f(top - v)))
        w = f(w + f(t * f(top - w)))
        for (let c = 0; c < 3; c++) {
          rows[c as 0 | 1 | 2][i] = f(f(f(k[5 + 3 * c]! * u) + f(k[6 + 3 * c]! * v)) + f(k[7 + 3 * c]! * w))
        }
      }
    },
  }
}
