import type { Address, Memory } from '../arena.ts'

/**
 * Gains along one row of a picture: building the row of gains, and applying it. All arithmetic is single precision,
 * in the order written here, so that the fast kernel gives the same bits.
 */
export interface ShadeKernel {
  /**
   * Multiplies gains[first + k·pitch], k < count, by a map's row: nodes[i] + (nodes[i + 1] − nodes[i])·f with i, f from
   * `columns` (pairs of i32 index and f32 fraction, one per k). `nodes` are f32, one more than the largest index.
   */
  gainLine(gains: Address, first: number, pitch: number, count: number, nodes: Address, columns: Address): void
  /**
   * Sets gains[i], i < n, to 1 + r²(k0 + r²(k1 + r²(k2 + r²(k3 + r²·k4)))) with r² = ((i + start)·inverse)² + dy2, at
   * most 1. `terms` are the five f32 k. Source: DNG 1.6 chapter 7, FixVignetteRadial. May write 12 bytes past the end.
   */
  vignetteLine(gains: Address, n: number, start: number, inverse: number, dy2: number, terms: Address): void
  /** n f32 values times gains in place, and, where `variance` is not 0, n variances times gains². May touch 12 bytes past. */
  shadeRow(values: Address, variance: Address, gains: Address, n: number): void
  /** n stored u16 codes times gains in place, rounded to nearest (halves up), clipped to 0..65535. */
  shadeCodes(codes: Address, gains: Address, n: number): void
}

const f = Math.fround

export function plainShade(memory: Memory): ShadeKernel {
  return {
    gainLine(gainsAt, first, pitch, count, nodesAt, columnsAt) {
      if (count <= 0) return
      const gains = memory.f32(gainsAt, first + (count - 1) * pitch + 1)
      const index = memory.i32(columnsAt, 2 * count)
      const fraction = memory.f32(columnsAt, 2 * count)
      let most = 0
      for (let k = 0; k < count; k++) most = Math.max(most, index[2 * k]!)
      const nodes = memory.f32(nodesAt, most + 2)
      for (let k = 0; k < count; k++) {
        const i = index[2 * k]!
        const low = nodes[i]!
        const gain = f(low + f(f(nodes[i + 1]! - low) * fraction[2 * k + 1]!))
        gains[first + k * pitch] = gains[first + k * pitch]! * gain
      }
    },
    vignetteLine(gainsAt, n, start, inverse, dy2, termsAt) {
      const gains = memory.f32(gainsAt, n)
      const [k0, k1, k2, k3, k4] = memory.f32(termsAt, 5) as unknown as [number, number, number, number, number]
      const [s, m, y] = [f(start), f(inverse), f(dy2)]
      for (let i = 0; i < n; i++) {
        const dx = f(f(i + s) * m)
        const r2 = Math.min(f(f(dx * dx) + y), 1)
        const inner = f(k2 + f(r2 * f(k3 + f(r2 * k4))))
        gains[i] = 1 + f(r2 * f(k0 + f(r2 * f(k1 + f(r2 * inner)))))
      }
    },
    shadeRow(valuesAt, varianceAt, gainsAt, n) {
      const gains = memory.f32(gainsAt, n)
      const values = memory.f32(valuesAt, n)
      for (let i = 0; i < n; i++) values[i] = values[i]! * gains[i]!
      if (varianceAt === 0) return
      const variance = memory.f32(varianceAt, n)
      for (let i = 0; i < n; i++) variance[i] = variance[i]! * f(gains[i]! * gains[i]!)
    },
    shadeCodes(codesAt, gainsAt, n) {
      const codes = memory.u16(codesAt, n)
      const gains = memory.f32(gainsAt, n)
      for (let i = 0; i < n; i++) {
        const v = Math.floor(f(f(codes[i]! * gains[i]!) + 0.5))
        codes[i] = Math.min(Math.max(v, 0), 65535)
      }
    },
  }
}
