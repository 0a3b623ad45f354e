/** A number in [0, 1) for a pair of whole numbers: a mixing hash (multiply, xor, shift), the same on every machine. */
export function hash(x: number, y: number, seed: number): number {
  let h = Math.imul(x | 0, 0x27d4eb2d) ^ Math.imul(y | 0, 0x165667b1) ^ Math.imul(seed | 0, 0x9e3779b1)
  h = Math.imul(h ^ (h >>> 15), 0x2c1b3c6d)
  h = Math.imul(h ^ (h >>> 12), 0x297a2d39)
  return ((h ^ (h >>> 15)) >>> 0) / 4294967296
}

/** Smooth noise in [0, 1): hashes at whole positions, joined by cubic easing. */
export function noise2(x: number, y: number, seed: number): number {
  const ix = Math.floor(x)
  const iy = Math.floor(y)
  const fx = x - ix
  const fy = y - iy
  const ux = fx * fx * (3 - 2 * fx)
  const uy = fy * fy * (3 - 2 * fy)
  const a = hash(ix, iy, seed)
  const b = hash(ix + 1, iy, seed)
  const c = hash(ix, iy + 1, seed)
  const d = hash(ix + 1, iy + 1, seed)
  return a + (b - a) * ux + (c - a) * uy + (a - b - c + d) * ux * uy
}

/** Sum of octaves, each half as large and twice as fine (slightly more than twice, so that lattices do not line up); in [0, 1). */
export function layers(x: number, y: number, seed: number, octaves: number): number {
  let sum = 0
  let size = 0.5
  let total = 0
  for (let i = 0; i < octaves; i++) {
    sum += size * noise2(x, y, seed + i)
    total += size
    x = x * 2.03 + 17.1
    y = y * 2.03 + 9.7
    size /= 2
  }
  return sum / total
}

export const clamp = (v: number, low: number, high: number) => Math.min(Math.max(v, low), high)

/** 0 below `from`, 1 above `to`, eased between. */
export function ease(from: number, to: number, v: number): number {
  const t = clamp((v - from) / (to - from), 0, 1)
  return t * t * (3 - 2 * t)
}
