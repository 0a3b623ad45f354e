import type { Address, Memory } from '../arena.ts'

/**
 * A Bayer mosaic as three full planes, fast and linear, so that a frame can be read between its samples when it is laid
 * on another. Gradient-corrected linear interpolation: Malvar, He, Cutler 2004, "High-quality linear interpolation for
 * demosaicing of Bayer-patterned color images" (5×5 kernels over 8; each has sum 1 over its own colour and 0 over the
 * others, so averages and low-frequency noise are those of the colour's own samples).
 *
 * Rows live in buffers of `stride` f32 whose first PLANE_PAD are padding: element x stands at PLANE_PAD + x.
 */
export interface PlanesKernel {
  /**
   * u16 → f32: (v − black)·scale per phase, for picture rows yFrom … yFrom + rows − 1; rows outside the picture and two
   * columns either side are mirrored about the edge sample, which keeps the colours. `levels`: f32 × 8: black of the four
   * phases (even row even column, even odd, odd even, odd odd), then their scales. Width and height at least 4.
   */
  linearRows(
    src: Address,
    width: number,
    height: number,
    yFrom: number,
    rows: number,
    levels: Address,
    dst: Address,
    stride: number,
  ): void
  /**
   * Three planes and the 5×5 maximum from linear rows. `lin` holds rows + 4 rows, the first two above yFrom. redPhase: row
   * parity × 2 + column parity of the red samples in the picture. `work`: one row of scratch.
   */
  planeRows(
    lin: Address,
    stride: number,
    width: number,
    yFrom: number,
    rows: number,
    redPhase: number,
    red: Address,
    green: Address,
    blue: Address,
    peak: Address,
    work: Address,
  ): void
  /** The 5×5 maximum alone, for pictures that come in planes. */
  peakRows(lin: Address, stride: number, width: number, rows: number, peak: Address, work: Address): void
}

export const PLANE_PAD = 8

/** Floats a row of a plane buffer takes: padding, the row rounded up to whole vectors, and room to read past its end. */
export const planeStride = (width: number) => PLANE_PAD + ((width + 7) & ~7) + 8

/** The row or column inside the picture that stands for one up to n − 1 outside it: mirrored about the edge sample. */
const mirror = (i: number, n: number) => (i < 0 ? -i : i >= n ? 2 * n - 2 - i : i)

export function plainPlanes(memory: Memory): PlanesKernel {
  const f = Math.fround
  const kernel: PlanesKernel = {
    linearRows(src, width, height, yFrom, rows, levels, dst, stride) {
      const from = memory.u16(src, width * height)
      const to = memory.f32(dst, rows * stride)
      const level = memory.f32(levels, 8)
      for (let r = 0; r < rows; r++) {
        const y = mirror(yFrom + r, height)
        const phase = (y & 1) << 1
        for (let x = -2; x < width + 2; x++) {
          const sx = mirror(x, width)
          const p = phase | (sx & 1)
          to[r * stride + PLANE_PAD + x] = f(f(from[y * width + sx]! - level[p]!) * level[4 + p]!)
        }
      }
    },
    planeRows(lin, stride, width, yFrom, rows, redPhase, red, green, blue, peak, work) {
      const a = memory.f32(lin, (rows + 4) * stride)
      const out = [red, green, blue].map((at) => memory.f32(at, rows * stride))
      const [toR, toG, toB] = out as [Float32Array, Float32Array, Float32Array]
      for (let r = 0; r < rows; r++) {
        const redRow = ((yFrom + r) & 1) === redPhase >> 1
        const chromaParity = redRow ? redPhase & 1 : 1 - (redPhase & 1)
        const own = redRow ? toR : toB
        const other = redRow ? toB : toR
        for (let x = 0; x < width; x++) {
          const i = (r + 2) * stride + PLANE_PAD + x
          const here = a[i]!
          const e1 = f(a[i - 1]! + a[i + 1]!)
          const v1 = f(a[i - stride]! + a[i + stride]!)
          const e2 = f(a[i - 2]! + a[i + 2]!)
          const v2 = f(a[i - 2 * stride]! + a[i + 2 * stride]!)
          const d = f(f(a[i - stride - 1]! + a[i - stride + 1]!) + f(a[i + stride - 1]! + a[i + stride + 1]!))
          const o = r * stride + PLANE_PAD + x
          if ((x & 1) === chromaParity) {
            own[o] = here
            toG[o] = f(f(f(4 * here) + f(f(2 * f(e1 + v1)) - f(e2 + v2))) * 0.125)
            other[o] = f(f(f(6 * here) + f(f(2 * d) - f(1.5 * f(e2 + v2)))) * 0.125)
          } else {
            toG[o] = here
            const base = f(f(5 * here) - d)
            own[o] = f(f(base + f(f(f(4 * e1) - e2) + f(0.5 * v2))) * 0.125)
            other[o] = f(f(base + f(f(f(4 * v1) - v2) + f(0.5 * e2))) * 0.125)
          }
        }
      }
      kernel.peakRows(lin, stride, width, rows, peak, work)
    },
    peakRows(lin, stride, width, rows, peak) {
      const a = memory.f32(lin, (rows + 4) * stride)
      const to = memory.f32(peak, rows * stride)
      for (let r = 0; r < rows; r++) {
        for (let x = 0; x < width; x++) {
          let top = -Infinity
          for (let j = 0; j < 5; j++) {
            const i = (r + j) * stride + PLANE_PAD + x
            for (let k = -2; k <= 2; k++) if (a[i + k]! > top) top = a[i + k]!
          }
          to[r * stride + PLANE_PAD + x] = top
        }
      }
    },
  }
  return kernel
}
