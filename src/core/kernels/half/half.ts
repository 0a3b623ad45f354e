import type { Address, Memory } from '../arena.ts'

/**
 * IEEE 754 binary16 from binary32, round to nearest, ties to even; overflow to infinity, subnormals kept, NaN stays NaN.
 * Source: IEEE 754-2008 sections 3.6 and 4.3.1.
 */
export interface HalfKernel {
  /** n floats at `src` → n halves at `dst` (little-endian u16); n ≥ 0; the vectors may run 16 bytes past either end. */
  floatToHalf(src: Address, dst: Address, n: number): void
}

const scratchFloat = new Float32Array(1)
const scratchBits = new Uint32Array(scratchFloat.buffer)

/** One value: the definition of right. */
export function halfFromFloat(value: number): number {
  scratchFloat[0] = value
  const bits = scratchBits[0]!
  const sign = (bits >>> 16) & 0x8000
  const magnitude = bits & 0x7fffffff
  if (magnitude > 0x7f800000) return sign | 0x7e00
  if (magnitude >= 0x47800000) return sign | 0x7c00
  if (magnitude < 0x38800000) {
    // Below the smallest normal half: the value is a multiple of 2^-24.
    const scaled = Math.abs(value) * 16777216
    const floor = Math.floor(scaled)
    const rest = scaled - floor
    return sign | (rest > 0.5 || (rest === 0.5 && (floor & 1) === 1) ? floor + 1 : floor)
  }
  const rounded = magnitude + 0xfff + ((magnitude >>> 13) & 1)
  return sign | ((rounded - 0x38000000) >>> 13)
}

/** The float a half stands for. */
export function floatFromHalf(half: number): number {
  const sign = half & 0x8000 ? -1 : 1
  const exponent = (half >>> 10) & 31
  const fraction = half & 1023
  if (exponent === 0) return sign * fraction * 2 ** -24
  if (exponent === 31) return fraction === 0 ? sign * Infinity : Number.NaN
  return sign * (1 + fraction / 1024) * 2 ** (exponent - 15)
}

export function plainHalf(memory: Memory): HalfKernel {
  return {
    floatToHalf(src, dst, n) {
      const from = memory.f32(src, n)
      const to = memory.u16(dst, n)
      for (let i = 0; i < n; i++) to[i] = halfFromFloat(from[i]!)
    },
  }
}
