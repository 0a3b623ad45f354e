/** Three numbers: a colour or a point, in the space its name says. */
export type Triple = readonly [number, number, number]

/** A 3×3 matrix in row order: m[0..2] is the first row. */
export type Matrix3 = readonly [number, number, number, number, number, number, number, number, number]

export const identity3: Matrix3 = [1, 0, 0, 0, 1, 0, 0, 0, 1]

export const diagonal3 = ([a, b, c]: Triple): Matrix3 => [a, 0, 0, 0, b, 0, 0, 0, c]

export function multiply3(a: Matrix3, b: Matrix3): Matrix3 {
  const at = (r: number, c: number) => a[3 * r]! * b[c]! + a[3 * r + 1]! * b[3 + c]! + a[3 * r + 2]! * b[6 + c]!
  return [at(0, 0), at(0, 1), at(0, 2), at(1, 0), at(1, 1), at(1, 2), at(2, 0), at(2, 1), at(2, 2)]
}

export function apply3(m: Matrix3, [x, y, z]: Triple): Triple {
  return [m[0] * x + m[1] * y + m[2] * z, m[3] * x + m[4] * y + m[5] * z, m[6] * x + m[7] * y + m[8] * z]
}

/** Inverse by cofactors; null when the matrix is singular (|det| < 1e-12 of its scale). */
export function invert3(m: Matrix3): Matrix3 | null {
  const [a, b, c, d, e, f, g, h, i] = m
  const A = e * i - f * h
  const B = f * g - d * i
  const C = d * h - e * g
  const det = a * A + b * B + c * C
  const scale = Math.max(...m.map(Math.abs)) ** 3
  if (!(Math.abs(det) > 1e-12 * scale)) return null
  const s = 1 / det
  return [
    A * s,
    (c * h - b * i) * s,
    (b * f - c * e) * s,
    B * s,
    (a * i - c * g) * s,
    (c * d - a * f) * s,
    C * s,
    (b * g - a * h) * s,
    (a * e - b * d) * s,
  ]
}
