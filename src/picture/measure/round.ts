import { lengthOf, type Stretch, sinc } from './movement.ts'
import { ANGLES, type Spectrum } from './spectrum.ts'

/**
 * Spread of the round part of a blob, once a straight movement is taken out: standard deviation along either axis, pixels,
 * without the pixel's own square (1/12 px²) and without `extra`, variance that the stacking added. A Gaussian lens of σ gives σ; a disc of
 * defocus of radius R gives R/2. From the curvature of the transform at its middle, which is the second moment whatever the profile;
 * a fourth-order term takes up the profile. Null where the transform is too noisy, or falls too soon for its
 * rings.
 */
export function roundSpread(spectrum: Spectrum, line: Stretch, extra: number): number | null {
  const { rings, values } = spectrum
  const length = lengthOf(line)
  const angle = Math.atan2(line[1], line[0]) / 2
  const heights = Float64Array.from(rings, (k, r) => {
    let [ds, ss] = [0, 1e-12]
    for (let a = 0; a < ANGLES; a++) {
      const s = sinc(Math.PI * length * k * Math.cos((a * Math.PI) / ANGLES - angle))
      ds += values[r * ANGLES + a]! * s
      ss += s * s
    }
    return ds / ss
  })
  const peak = heights.reduce((a, b) => Math.max(a, b), 0)
  if (!(peak > 0)) return null
  // ln height = a + b k² + c k⁴, weighted by height² as the noise is even; the first ring leans on the background most.
  const m = [0, 0, 0, 0, 0]
  const v = [0, 0, 0]
  const unit = rings[rings.length - 1]! ** 2
  let used = 0
  for (let r = 1; r < rings.length && heights[r]! > 0.3 * peak; r++) {
    const x = rings[r]! ** 2 / unit
    const w = rings[r]! * heights[r]! ** 2
    const y = Math.log(heights[r]!)
    for (let i = 0; i < 5; i++) m[i]! += w * x ** i
    for (let i = 0; i < 3; i++) v[i]! += w * x ** i * y
    used++
  }
  // Fewer rings than unknowns and one to spare: the blob is larger than the rings are made for.
  if (used < 5) return null
  const [m0, m1, m2, m3, m4] = m as [number, number, number, number, number]
  const [v0, v1, v2] = v as [number, number, number]
  const det = m0 * (m2 * m4 - m3 * m3) - m1 * (m1 * m4 - m3 * m2) + m2 * (m1 * m3 - m2 * m2)
  if (!(det > 0)) return null
  const b = (m0 * (v1 * m4 - m3 * v2) - v0 * (m1 * m4 - m3 * m2) + m2 * (m1 * v2 - v1 * m2)) / det
  const variance = -b / (2 * Math.PI * Math.PI * unit) - 1 / 12 - extra
  return variance > 0 ? Math.sqrt(variance) : null
}
