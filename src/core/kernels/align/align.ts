import type { Address, Memory } from '../arena.ts'

/**
 * Sums for one Gauss–Newton step of image alignment (Lucas, Kanade 1981; inverse compositional form of Baker, Matthews
 * 2004): how far the moving picture's content stands from the reference's.
 *
 * For every reference pixel p of a region: the moving picture is read at W(p) = c + R(p − c) + t by cubic convolution
 * (Keys 1981, a = −1/2, weights from a table of PHASES + 1 rows of 4), residual r = moving − reference, gradient g of the
 * reference by central differences, and the Jacobian for (x, y, turn) is J = (gx, gy, gy·(px − cx) − gx·(py − cy)).
 * Each pixel weighs 1/(1 + (r/tau)²) (Cauchy), and not at all where either picture reaches `ceiling` close by (clipped in
 * one of the frames) or where the taps leave the picture.
 *
 * Out, eleven f64: JJ in the order xx, xy, xt, yy, yt, tt; Jr in x, y, t; Σw; Σw r².
 */
export interface AlignKernel {
  /**
   * Reference and moving: f32 width × height. Region: 2 ≤ x0 < x1 ≤ width − 2, likewise y;
   * narrower than 8 counts for nothing. `motion`: f32 × 6 in
   * memory: cos, sin, tx, ty, cx, cy. `table`: the cubic weights. Sums are added to `out`.
   */
  alignSums(
    reference: Address,
    moving: Address,
    width: number,
    height: number,
    x0: number,
    x1: number,
    y0: number,
    y1: number,
    motion: Address,
    table: Address,
    tau: number,
    ceiling: number,
    out: Address,
  ): void
}

/** Phases of the cubic table; a position is rounded to 1/256 of a pixel. */
export const PHASES = 256

/** Weights of cubic convolution (Keys 1981, a = −1/2) for taps −1, 0, 1, 2 at each phase 0 … PHASES: (PHASES + 1) × 4 f32. */
export function cubicTable(): Float32Array {
  const table = new Float32Array((PHASES + 1) * 4)
  for (let i = 0; i <= PHASES; i++) {
    const t = i / PHASES
    table.set(
      [
        ((-t + 2) * t - 1) * t * 0.5,
        ((3 * t - 5) * t * t + 2) * 0.5,
        ((-3 * t + 4) * t + 1) * t * 0.5,
        (t - 1) * t * t * 0.5,
      ],
      i * 4,
    )
  }
  return table
}

export const ALIGN_SUMS = 11

export function plainAlign(memory: Memory): AlignKernel {
  return {
    alignSums(reference, moving, width, height, x0, x1, y0, y1, motion, table, tau, ceiling, out) {
      const ref = memory.f32(reference, width * height)
      const mov = memory.f32(moving, width * height)
      const [c, s, tx, ty, cx, cy] = memory.f32(motion, 6) as unknown as [
        number,
        number,
        number,
        number,
        number,
        number,
      ]
      const weights = memory.f32(table, (PHASES + 1) * 4)
      const sums = memory.f64(out, ALIGN_SUMS)
      const inverseTau2 = 1 / (tau * tau)
      if (x1 - x0 < 8) return
      for (let y = y0; y < y1; y++) {
        const dy = y - cy
        for (let x = x0; x < x1; x++) {
          const dx = x - cx
          const sx = cx + c * dx - s * dy + tx
          const sy = cy + s * dx + c * dy + ty
          const ix = Math.floor(sx)
          const iy = Math.floor(sy)
          if (ix < 1 || iy < 1 || ix + 2 >= width || iy + 2 >= height) continue
          const px = Math.floor((sx - ix) * PHASES + 0.5) * 4
          const py = Math.floor((sy - iy) * PHASES + 0.5) * 4
          let value = 0
          let peak = 0
          for (let j = 0; j < 4; j++) {
            const row = (iy - 1 + j) * width + ix - 1
            let across = 0
            for (let i = 0; i < 4; i++) {
              across += weights[px + i]! * mov[row + i]!
              if ((i === 1 || i === 2) && (j === 1 || j === 2) && mov[row + i]! > peak) peak = mov[row + i]!
            }
            value += weights[py + j]! * across
          }
          const at = y * width + x
          const here = ref[at]!
          const l = ref[at - 1]!
          const r0 = ref[at + 1]!
          const u = ref[at - width]!
          const d = ref[at + width]!
          if (Math.max(peak, here, l, r0, u, d) >= ceiling) continue
          const gx = (r0 - l) * 0.5
          const gy = (d - u) * 0.5
          const r = value - here
          const w = 1 / (1 + r * r * inverseTau2)
          const gt = gy * dx - gx * dy
          sums[0]! += w * gx * gx
          sums[1]! += w * gx * gy
          sums[2]! += w * gx * gt
          sums[3]! += w * gy * gy
          sums[4]! += w * gy * gt
          sums[5]! += w * gt * gt
          sums[6]! += w * gx * r
          sums[7]! += w * gy * r
          sums[8]! += w * gt * r
          sums[9]! += w
          sums[10]! += w * r * r
        }
      }
    },
  }
}
