import type { Address, Memory } from '../arena.ts'
import { encodedSrgb, inGamut, lampWhite, powerNorm, toGamut, whitening } from './colour.ts'
import { ditherPhase } from './dither.ts'

/**
 * The last steps of a print: scene-linear planes to display codes.
 *
 * A *cell* is a square of `step` × `step` pixels; `step` is a multiple of 8. Rendering one pixel (r, g, b), with
 * (A, B, ρr, ρb) interpolated between cell centres:
 *
 *   Y  = 0.2126 r + 0.7152 g + 0.0722 b                                  luminance, IEC 61966-2-1
 *   w  = min(1, 1.02 Y² / (Y² + α Y + β))                                trust in this pixel's own chroma (Wiener 1949)
 *   c ← ρ Y + w (c − ρ Y)                                                neighbourhood's chroma where noise rules
 *   N  = Σ c³ / Σ c²  over max(c, 0)                                     power norm: luminance for greys, the largest
 *                                                                        channel for pure colours, never above it
 *   s  = A log₂ N + B                                                    stops from the anchor, range compressed
 *   N′ = tone(s)                                                         display-linear norm, from a table
 *   c ← c N′ / N                                                         one factor: chromaticity, and so hue, unchanged
 *   near white (N′ above a level) or any c outside 0..1: in Oklab (Ottosson 2020), toward the neutral (∛N′, 0, 0) at
 *   constant hue, then chroma is reduced at constant lightness and hue until the colour is displayable
 *   code = sRGB transfer function, and dither for 8 bits
 *
 * Nothing is clipped per channel, which is what turns lamps yellow, magenta or cyan.
 */
export interface PrintKernel {
  /**
   * One row of cells, `rows` (1..step) pixel rows high: at `out`, 8 floats a cell: mean r, g, b; chroma variance
   * (var(r−g) + var(b−g)); peak, the largest channel value; three unused. Planes are rows of `stride` floats.
   */
  printCells(
    r: Address,
    g: Address,
    b: Address,
    width: number,
    rows: number,
    stride: number,
    step: number,
    out: Address,
  ): void
  /**
   * The same row of cells: at `out`, 2 floats a cell: mean and mean square of s = log2(max(N, floor) / floor) over the
   * pixels of every second row. Pixels, not their mean: a cell across a roofline holds sky and roof, and nothing between.
   */
  printMoments(
    r: Address,
    g: Address,
    b: Address,
    width: number,
    rows: number,
    stride: number,
    step: number,
    floor: number,
    out: Address,
  ): void
  /** a + t (b − a) over `vectors` × 4 floats. */
  printBlend(a: Address, b: Address, t: number, out: Address, vectors: number): void
  /**
   * One row of pixels to display-linear sRGB, 0..1 within 2e-4, in three float rows. `cells`: (A, B, ρr, ρb) per cell of this row, the first
   * and the last cell repeated once outside: ceil(width / step) + 2 vectors. `constants`: see PrintConstant. The
   * vectors may run 12 bytes past the ends of rows.
   */
  printTone(
    r: Address,
    g: Address,
    b: Address,
    width: number,
    cells: Address,
    step: number,
    tone: Address,
    constants: Address,
    outR: Address,
    outG: Address,
    outB: Address,
  ): void
  /**
   * Display-linear rows → interleaved 8-bit sRGB codes with dither (dither.ts), phase from the position (x, y) alone, so the bytes do not depend on strips or threads. Writes no byte past 3 · width: the next row may be another thread's.
   */
  printCode8(r: Address, g: Address, b: Address, width: number, y: number, out: Address): void
  /** Display-linear rows → interleaved 16-bit sRGB codes, rounded. Writes no byte past 6 · width. */
  printCode16(r: Address, g: Address, b: Address, width: number, out: Address): void
}

/** Floats of the constants block. */
export const printConstant = {
  /** Stops at the first entry of the tone table. */
  toneStart: 0,
  /** Entries of the tone table a stop. */
  tonePerStop: 1,
  /** Last usable place in the table: entries − 1 − a little, so that the entry above exists. */
  toneLast: 2,
  /** Norms below this count as this. */
  floor: 3,
  /** α and β of the chroma noise. */
  noiseScale: 4,
  noiseOffset: 5,
  /** Luminance from which w is 1: √(50 (α Y + β)) = Y. */
  quietAbove: 6,
  /** Display-linear level from which colours turn toward white, and its cube root. */
  whiteLevel: 7,
  whiteLightness: 8,
  /** Share of white at level 1. */
  whiteMost: 9,
  length: 12,
} as const

export function plainPrint(memory: Memory): PrintKernel {
  return {
    printCells(rAt, gAt, bAt, width, rows, stride, step, outAt) {
      const [r, g, b] = [rAt, gAt, bAt].map((at) => memory.f32(at, (rows - 1) * stride + width)) as [
        Float32Array,
        Float32Array,
        Float32Array,
      ]
      const cells = Math.ceil(width / step)
      const out = memory.f32(outAt, cells * 8)
      for (let cell = 0; cell < cells; cell++) {
        const end = Math.min(width, (cell + 1) * step)
        let [sr, sg, sb, su, sv, suv, peak] = [0, 0, 0, 0, 0, 0, 0]
        for (let y = 0; y < rows; y++) {
          for (let i = y * stride + cell * step; i < y * stride + end; i++) {
            const u = r[i]! - g[i]!
            const v = b[i]! - g[i]!
            sr += r[i]!
            sg += g[i]!
            sb += b[i]!
            su += u
            sv += v
            suv += u * u + v * v
            peak = Math.max(peak, r[i]!, g[i]!, b[i]!)
          }
        }
        const n = (end - cell * step) * rows
        const chroma = Math.max(0, suv / n - (su / n) ** 2 - (sv / n) ** 2)
        out.set([sr / n, sg / n, sb / n, chroma, peak, 0, 0, 0], cell * 8)
      }
    },

    printMoments(rAt, gAt, bAt, width, rows, stride, step, floor, outAt) {
      const [r, g, b] = [rAt, gAt, bAt].map((at) => memory.f32(at, (rows - 1) * stride + width)) as [
        Float32Array,
        Float32Array,
        Float32Array,
      ]
      const out = memory.f32(outAt, Math.ceil(width / step) * 2)
      for (let x0 = 0, cell = 0; x0 < width; x0 += step, cell++) {
        const end = Math.min(width, x0 + step)
        let [sum, squares, n] = [0, 0, 0]
        for (let y = 0; y < rows; y += 2) {
          for (let i = y * stride + x0; i < y * stride + end; i++, n++) {
            const stops = Math.log2(Math.max(powerNorm([r[i]!, g[i]!, b[i]!]), floor) / floor)
            sum += stops
            squares += stops * stops
          }
        }
        out.set([sum / n, squares / n], cell * 2)
      }
    },

    printBlend(aAt, bAt, t, outAt, vectors) {
      const a = memory.f32(aAt, vectors * 4)
      const b = memory.f32(bAt, vectors * 4)
      const out = memory.f32(outAt, vectors * 4)
      for (let i = 0; i < out.length; i++) out[i] = a[i]! + t * (b[i]! - a[i]!)
    },

    printTone(rAt, gAt, bAt, width, cellsAt, step, toneAt, constantsAt, outR, outG, outB) {
      const r = memory.f32(rAt, width)
      const g = memory.f32(gAt, width)
      const b = memory.f32(bAt, width)
      const cells = memory.f32(cellsAt, (Math.ceil(width / step) + 2) * 4)
      const constants = memory.f32(constantsAt, printConstant.length)
      const last = constants[printConstant.toneLast]!
      const tone = memory.f32(toneAt, Math.floor(last) + 2)
      const out = [memory.f32(outR, width), memory.f32(outG, width), memory.f32(outB, width)]
      for (let x = 0; x < width; x++) {
        const at = (x + 0.5) / step + 0.5
        const k = Math.floor(at)
        const cell = (i: number) => cells[k * 4 + i]! + (at - k) * (cells[k * 4 + 4 + i]! - cells[k * 4 + i]!)
        const luminance = 0.2126 * r[x]! + 0.7152 * g[x]! + 0.0722 * b[x]!
        const y = Math.max(luminance, 0)
        const noise = constants[printConstant.noiseScale]! * y + constants[printConstant.noiseOffset]!
        const trust = Math.min((1.02 * y * y) / (y * y + noise + 1e-30), 1)
        const [rhoR, rhoB] = [cell(2), cell(3)]
        const rhoG = (1 - 0.2126 * rhoR - 0.0722 * rhoB) / 0.7152
        const own = (c: number, rho: number) => rho * y + trust * (c - rho * y)
        let rgb: [number, number, number] = [own(r[x]!, rhoR), own(g[x]!, rhoG), own(b[x]!, rhoB)]

        const norm = Math.max(powerNorm(rgb), constants[printConstant.floor]!)
        const stops = cell(0) * Math.log2(norm) + cell(1)
        const place = Math.min(
          Math.max((stops - constants[printConstant.toneStart]!) * constants[printConstant.tonePerStop]!, 0),
          last,
        )
        const entry = Math.floor(place)
        const shown = tone[entry]! + (place - entry) * (tone[entry + 1]! - tone[entry]!)
        const scale = shown / norm
        rgb = [rgb[0] * scale, rgb[1] * scale, rgb[2] * scale]
        if (shown > constants[printConstant.whiteLevel]! || !inGamut(rgb)) {
          const share = whitening(shown, constants[printConstant.whiteLightness]!, constants[printConstant.whiteMost]!)
          rgb = toGamut(lampWhite(rgb, shown, share))
        }
        for (let c = 0; c < 3; c++) out[c]![x] = rgb[c]!
      }
    },

    printCode8(rAt, gAt, bAt, width, y, outAt) {
      const rows = [memory.f32(rAt, width), memory.f32(gAt, width), memory.f32(bAt, width)]
      const out = memory.u8(outAt, width * 3)
      for (let x = 0; x < width; x++) {
        for (let c = 0; c < 3; c++) {
          out[x * 3 + c] = Math.min(Math.floor(255 * encodedSrgb(rows[c]![x]!) + ditherPhase(x, y, c)), 255)
        }
      }
    },

    printCode16(rAt, gAt, bAt, width, outAt) {
      const rows = [memory.f32(rAt, width), memory.f32(gAt, width), memory.f32(bAt, width)]
      const out = memory.u16(outAt, width * 3)
      for (let x = 0; x < width; x++) {
        for (let c = 0; c < 3; c++) out[x * 3 + c] = Math.floor(65535 * encodedSrgb(rows[c]![x]!) + 0.5)
      }
    },
  }
}
