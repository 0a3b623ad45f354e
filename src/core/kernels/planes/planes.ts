import type { Address, Memory } from '../arena.ts'

/**
 * A Bayer mosaic as three full planes, so that a frame can be read between its samples when it is laid on another.
 *
 * Each missing value is the mean m of its own colour's neighbours plus a correction from the curvature c of the colour
 * that was measured there. The kernels are those of Malvar, He, Cutler 2004 ("High-quality linear interpolation for
 * demosaicing of Bayer-patterned color images", 5×5 over 8), with two changes. They take colour differences for constant,
 * which a saturated lamp is not; here the colours' ratio is: c is scaled by m/g, g the other colour's local mean. And the scaled
 * correction k = c·m/g is shrunk to k·s/(s + noise), s = max(0, k² − ¾·noise): where it is no more than noise it would carry one colour's noise
 * into another's averages. On grey light without noise the kernels are the published ones up to the curvature's square.
 *
 * Clipping stays inside its colour as far as it can. Next to a clipped sample of its own colour a missing value takes that
 * sample's, so that a reader of the plane sees the clipping. With a clipped sample of another colour around there is no
 * correction: where the own colour is even (its spread within a few deviations of the noise) the mean will do, and where it is
 * not, the mean would be too low at every lamp, so the value is marked as clipped.
 *
 * Rows live in buffers of `stride` f32 whose first PLANE_PAD are padding: element x stands at PLANE_PAD + x.
 */
export interface PlanesKernel {
  /**
   * u16 → f32: (v − black)·scale per phase, for columns xFrom … xFrom + columns − 1 (xFrom even, all inside the picture) and
   * two more either side, rows yFrom … yFrom + rows − 1; what lies outside the picture is mirrored about the edge sample,
   * which keeps the colours. `levels`: f32 × 8: black of the four phases (even row even column, even odd, odd even, odd
   * odd), then their scales. Width and height at least 4.
   */
  linearRows(
    src: Address,
    width: number,
    height: number,
    xFrom: number,
    columns: number,
    yFrom: number,
    rows: number,
    levels: Address,
    dst: Address,
    stride: number,
  ): void
  /**
   * Full planes from linear rows. `lin` holds rows + 4 rows, the first two above yFrom. redPhase: row parity × 2 + column
   * parity of the red samples in the picture (the buffer starts at an even column). The noise a correction must stand out
   * of is noiseScale·x + noiseOffset (a variance, x the mean of the own colour). `clip`: value from which a sample is clipped.
   * `mark`: 1 to mark what clipping spoiled, for a frame that others can stand in for; 0 to give the mean of what there is.
   *
   * Four planes, planeBytes apart, as a reader of mosaics wants them. For the rows that have red: the straight plane holds
   * at every column the colour that such rows have at columns of its parity (red or green), the crossed plane the other
   * one. Then the same two for the rows that have blue.
   */
  planeRows(
    lin: Address,
    stride: number,
    columns: number,
    yFrom: number,
    rows: number,
    redPhase: number,
    noiseScale: number,
    noiseOffset: number,
    clip: number,
    mark: number,
    out: Address,
    planeBytes: number,
  ): void
}

export const PLANE_PAD = 8

/** Floats a row of a plane buffer takes: padding, the row rounded up to whole vectors, and room to read past its end. */
export const planeStride = (width: number) => PLANE_PAD + ((width + 7) & ~7) + 8

/**
 * Weights of the other colour's local mean: such that its noise and the curvature's are uncorrelated. A ratio of the two
 * would otherwise lean to one side in the dark.
 */
const FIFTH = Math.fround(0.2)
const SIXTH = Math.fround(1 / 6)
const FIVE_24THS = Math.fround(5 / 24)

/** The row or column inside the picture that stands for one up to n − 1 outside it: mirrored about the edge sample. */
const mirror = (i: number, n: number) => (i < 0 ? -i : i >= n ? 2 * n - 2 - i : i)

export function plainPlanes(memory: Memory): PlanesKernel {
  const f = Math.fround
  return {
    linearRows(src, width, height, xFrom, columns, yFrom, rows, levels, dst, stride) {
      const from = memory.u16(src, width * height)
      const to = memory.f32(dst, rows * stride)
      const level = memory.f32(levels, 8)
      for (let r = 0; r < rows; r++) {
        const y = mirror(yFrom + r, height)
        const phase = (y & 1) << 1
        for (let x = -2; x < columns + 2; x++) {
          const sx = mirror(xFrom + x, width)
          const p = phase | (sx & 1)
          to[r * stride + PLANE_PAD + x] = f(f(from[y * width + sx]! - level[p]!) * level[4 + p]!)
        }
      }
    },
    planeRows(lin, stride, columns, yFrom, rows, redPhase, noiseScale, noiseOffset, clip, mark, out, planeBytes) {
      const a = memory.f32(lin, (rows + 4) * stride)
      const planes = [0, 1, 2, 3].map((i) => memory.f32(out + i * planeBytes, rows * stride)) as [
        Float32Array,
        Float32Array,
        Float32Array,
        Float32Array,
      ]
      const redColumn = redPhase & 1
      const [s, o, top] = [f(noiseScale), f(noiseOffset), f(clip)]
      /** From the own colour's mean m, the other colour's curvature and mean, the own samples around, and the largest of the others. */
      const value = (
        mean: number,
        curvature: number,
        otherMean: number,
        near: readonly number[],
        far: readonly number[],
        others: number,
      ) => {
        const own = Math.max(...near)
        if (own >= top) return mark ? own : mean
        const m = Math.max(0, mean)
        const noise = f(f(s * m) + o)
        if (others >= top) {
          if (!mark) return mean
          const spread = f(Math.max(own, ...far) - Math.min(...near, ...far))
          return f(spread * spread) > f(4 * noise) ? top : mean
        }
        // g² and k = m·c, so that the correction is k/g; the other's mean counts for at least the noise.
        const g2 = Math.max(noise, otherMean > 0 ? f(otherMean * otherMean) : 0)
        const k = f(m * curvature)
        const k2 = Math.max(0, f(f(k * k) - f(0.75 * f(noise * g2))))
        if (k2 === 0) return mean
        return f(mean + f(f(k * k2) / f(f(f(Math.sqrt(g2)) * f(k2 + f(noise * g2))) + f(1e-15))))
      }
      for (let r = 0; r < rows; r++) {
        const redRow = ((yFrom + r) & 1) === redPhase >> 1
        const chromaParity = redRow ? redPhase & 1 : 1 - (redPhase & 1)
        for (let x = 0; x < columns; x++) {
          const i = (r + 2) * stride + PLANE_PAD + x
          const at = (dy: number, dx: number) => a[i + dy * stride + dx]!
          const here = at(0, 0)
          const e1 = f(at(0, -1) + at(0, 1))
          const v1 = f(at(-1, 0) + at(1, 0))
          const e2 = f(at(0, -2) + at(0, 2))
          const v2 = f(at(-2, 0) + at(2, 0))
          const d = f(f(at(-1, -1) + at(-1, 1)) + f(at(1, -1) + at(1, 1)))
          const across = [at(0, -1), at(0, 1)]
          const down = [at(-1, 0), at(1, 0)]
          const diagonal = [at(-1, -1), at(-1, 1), at(1, -1), at(1, 1)]
          const acrossFar = [at(-2, -1), at(-2, 1), at(2, -1), at(2, 1)]
          const downFar = [at(-1, -2), at(-1, 2), at(1, -2), at(1, 2)]
          const farTop = Math.max(here, at(0, -2), at(0, 2), at(-2, 0), at(2, 0))
          const to = r * stride + PLANE_PAD + x
          const sum2 = f(e2 + v2)
          let own: number
          let green: number
          let other: number
          if ((x & 1) === chromaParity) {
            const g = f(f(here + sum2) * FIFTH)
            own = here
            green = value(
              f(f(e1 + v1) * 0.25),
              f(f(f(4 * here) - sum2) * 0.125),
              g,
              [...across, ...down],
              [...acrossFar, ...downFar],
              farTop,
            )
            other = value(f(d * 0.25), f(f(f(6 * here) - f(1.5 * sum2)) * 0.125), g, diagonal, [], farTop)
          } else {
            const base = f(f(5 * here) - d)
            const g = f(f(here * SIXTH) + f(d * FIVE_24THS))
            const greenTop = Math.max(farTop, ...diagonal)
            green = here
            own = value(f(e1 * 0.5), f(f(base + f(f(0.5 * v2) - e2)) * 0.125), g, across, acrossFar, greenTop)
            other = value(f(v1 * 0.5), f(f(base + f(f(0.5 * e2) - v2)) * 0.125), g, down, downFar, greenTop)
          }
          const [red, blue] = redRow ? [own, other] : [other, own]
          const atRed = (x & 1) === redColumn
          planes[0][to] = atRed ? red : green
          planes[1][to] = atRed ? green : red
          planes[2][to] = atRed ? green : blue
          planes[3][to] = atRed ? blue : green
        }
      }
    },
  }
}
