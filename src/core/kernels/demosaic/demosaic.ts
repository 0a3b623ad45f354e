import type { Address, Memory } from '../arena.ts'

/**
 * Demosaic of a 2×2 Bayer mosaic: the two missing colours of every site, measured samples returned as they are.
 *
 * Method: gradient-weighted directional colour differences (Pekkucuksen, Altunbasak 2010, "Gradient based threshold
 * free color filter array interpolation"), here with shorter windows, in an encoding that suits scenes with lamps:
 *
 *   e      = sign(m)·((|m| + toe)^¼ − toe^¼)           linear about zero, fourth root far above `toe`; toe 0: e = m
 *   dH, dV = green − colour along the row and the column: (2(e₋₁ + e₁ − e₀) − e₋₂ − e₂)/4, negated at green sites
 *            (Hamilton, Adams 1997)
 *   gH, gV = |dH(x−1) − dH(x+1)|, |dV(y−1) − dV(y+1)|  how much the difference changes: small along an edge
 *   green at red and blue sites = e + Σ d̄/s² / Σ 1/s² over the four directions: d̄ the mean of the site's own d and
 *            the next three that way, s the sum of g over those four and the lines on either side
 *   red at blue (and blue at red) = green − D, D by the 12-tap diagonal filter of the paper; at green sites D is the
 *            mean of the four neighbours'
 *   result = sign(e)·((|e| + toe^¼)⁴ − toe)
 *
 * Why an encoding: a lamp is up to 10⁵ times its surroundings, and any linear high-pass filter then draws dark and
 * coloured rings around it; near-logarithmic values also make the method blind to white balance. Why a toe: about zero
 * the samples are noise of both signs, and the encoding must be linear there or it would bend their mean.
 *
 * Domain: finite samples of either sign, |m| below 1e15; toe ≥ 0 in the mosaic's own unit, about twice the standard
 * deviation of its noise at black. Equivariant to scale when mosaic and toe are scaled together. The border is mirrored
 * without repeating the edge sample, which keeps the phase of the pattern. Measured: docs/decisions/0003-demosaic.md.
 */
export interface DemosaicKernel {
  /**
   * Rows y0 ≤ y < y1 of the whole picture. `mosaic` is width × height floats, tightly packed, width and height ≥ 2; the
   * three planes have `stride` floats from row to row, and only their first `width` are written. `phase` = (row parity
   * of red) · 2 + column parity of red. `toe` as above. `scratch` offers `demosaicScratchBytes(width)` bytes. The
   * result of a row does not depend on how the rows are cut into calls.
   */
  demosaicRows(
    mosaic: Address,
    width: number,
    height: number,
    y0: number,
    y1: number,
    phase: number,
    toe: number,
    red: Address,
    green: Address,
    blue: Address,
    stride: number,
    scratch: Address,
  ): void
}

/** How far, in pixels, a result reaches: what changes in the mosaic is felt up to this many rows and columns away. */
export const DEMOSAIC_REACH = 10

/** Bytes of scratch for one call: the kernel's rings of rows (one line = two halves with 32 samples about each). */
export const demosaicScratchBytes = (width: number): number => 1024 + (48 * 2 + 12) * 4 * (halfRow(width) + 32)

/** Samples of one column parity in a row, rounded up to whole vectors. */
const halfRow = (width: number): number => (((width + 1) >> 1) + 3) & ~3

/** An index mirrored into 0 … n−1 about the first and last sample; parity is kept. n ≥ 2. */
export function mirrored(index: number, n: number): number {
  const i = Math.abs(index)
  if (i < n) return i
  const period = 2 * (n - 1)
  return i % period < n ? i % period : period - (i % period)
}

export interface MosaicRows {
  readonly mosaic: Float32Array
  readonly width: number
  readonly height: number
  readonly y0: number
  readonly y1: number
  readonly phase: number
  readonly toe: number
  /** Floats from row to row of the result planes. */
  readonly stride: number
}

/** The definition of right, in double precision. `planes` are red, green, blue of the whole picture. */
export function demosaicInto(job: MosaicRows, planes: readonly [Float32Array, Float32Array, Float32Array]): void {
  const { mosaic, width, height, y0, y1, toe } = job
  const R = DEMOSAIC_REACH
  const line = width + 2 * R
  const rows = y1 - y0 + 2 * R
  const root = Math.sqrt(Math.sqrt(toe))
  const encode = (m: number) => (toe > 0 ? Math.sign(m) * (Math.sqrt(Math.sqrt(Math.abs(m) + toe)) - root) : m)
  const decode = (e: number) => (toe > 0 ? Math.sign(e) * ((Math.abs(e) + root) ** 4 - toe) : e)
  const grid = () => new Float64Array(rows * line)
  /** Calls `at` for every site of the padded strip that is `margin` or more from its rim. */
  const each = (margin: number, at: (i: number, y: number, x: number) => void) => {
    for (let y = margin; y < rows - margin; y++)
      for (let x = margin; x < line - margin; x++) at(y * line + x, y0 - R + y, x - R)
  }
  const isGreen = (y: number, x: number) => ((y + x + (job.phase >> 1) + job.phase) & 1) === 1
  const isRedRow = (y: number) => ((y + (job.phase >> 1)) & 1) === 0

  const e = grid()
  each(0, (i, y, x) => {
    e[i] = encode(mosaic[mirrored(y, height) * width + mirrored(x, width)]!)
  })

  const differences = (step: number) => {
    const d = grid()
    each(2, (i, y, x) => {
      const other = (2 * (e[i - step]! + e[i + step]! - e[i]!) - e[i - 2 * step]! - e[i + 2 * step]!) / 4
      d[i] = isGreen(y, x) ? -other : other
    })
    const g = grid()
    each(3, (i) => {
      g[i] = Math.abs(d[i - step]! - d[i + step]!)
    })
    return { d, g }
  }
  const alongRow = differences(1)
  const alongColumn = differences(line)
  const directions = [
    { way: -1, across: line, ...alongRow },
    { way: 1, across: line, ...alongRow },
    { way: -line, across: 1, ...alongColumn },
    { way: line, across: 1, ...alongColumn },
  ]

  const D = grid()
  each(6, (i, y, x) => {
    if (isGreen(y, x)) return
    let sum = 0
    let weights = 0
    for (let n = 0; n < 4; n++) {
      const { way, across, d, g } = directions[n]!
      let total = 0
      let s = 0
      for (let k = 0, j = i; k < 4; k++, j += way) {
        total += d[j]!
        s += g[j - across]! + g[j]! + g[j + across]!
      }
      const w = 1 / (s * s + 1e-30)
      sum += (w * total) / 4
      weights += w
    }
    D[i] = sum / weights
  })

  // The difference to the colour of the opposite sites, from the diagonals.
  const X = grid()
  each(9, (i, y, x) => {
    if (isGreen(y, x)) return
    const near = D[i - line - 1]! + D[i - line + 1]! + D[i + line - 1]! + D[i + line + 1]!
    let far = 0
    for (let v = -line; v <= line; v += 2 * line)
      far += D[i + v - 3]! + D[i + v + 3]! + D[i + 3 * v - 1]! + D[i + 3 * v + 1]!
    X[i] = (10 * near - far) / 32
  })

  const [red, green, blue] = planes
  each(R, (i, y, x) => {
    const [own, opposite] = isRedRow(y) ? [red, blue] : [blue, red]
    const to = y * job.stride + x
    const measured = mosaic[y * width + x]!
    if (isGreen(y, x)) {
      green[to] = measured
      own[to] = decode(e[i]! - (D[i - 1]! + D[i + 1]! + X[i - line]! + X[i + line]!) / 4)
      opposite[to] = decode(e[i]! - (X[i - 1]! + X[i + 1]! + D[i - line]! + D[i + line]!) / 4)
    } else {
      own[to] = measured
      green[to] = decode(e[i]! + D[i]!)
      opposite[to] = decode(e[i]! + D[i]! - X[i]!)
    }
  })
}

export function plainDemosaic(memory: Memory): DemosaicKernel {
  return {
    demosaicRows(mosaic, width, height, y0, y1, phase, toe, red, green, blue, stride) {
      const n = stride * (height - 1) + width
      demosaicInto({ mosaic: memory.f32(mosaic, width * height), width, height, y0, y1, phase, toe, stride }, [
        memory.f32(red, n),
        memory.f32(green, n),
        memory.f32(blue, n),
      ])
    },
  }
}
