import { type Address, CELL, COMBINE_WORDS, PLANE_PAD, planeStride, type Task, type TaskContext } from '#core/kernels'
import { type CfaPattern, cfaAt } from '#core/pixels'

/** One frame as the row task needs it; all numbers already in reference units. */
export interface RowFrame {
  readonly at: Address
  readonly levels: Address
  readonly warp: Address
  /** True for the reference: its samples are used as they are. */
  readonly own: boolean
  readonly gain: number
  readonly floor: number
  /** Noise that a colour correction between samples must stand out of, in the frame's own units (see the planes kernel). */
  readonly noiseScale: number
  readonly noiseOffset: number
  /** Noise of red, green, blue in reference units: S and O of variance = S·Φ + O. */
  readonly s: readonly [number, number, number]
  readonly o: readonly [number, number, number]
  /** The affine map of a reference point into the frame, as in `warp`. */
  readonly map: readonly [number, number, number, number, number, number]
}

export interface RowParams {
  readonly width: number
  readonly height: number
  readonly stripRows: number
  readonly cfa: CfaPattern | null
  readonly frames: readonly RowFrame[]
  readonly table: Address
  readonly cellColumns: number
  readonly cellRows: number
  /** [plane][row parity] */
  readonly expected: readonly (readonly [Address, Address])[]
  readonly out: readonly Address[]
  /** Variance plane, written for plane `variancePlane` only. */
  readonly variance: Address
  readonly variancePlane: number
  /** i32 per strip and plane: samples clipped in every frame. */
  readonly clipped: Address
}

/**
 * Trust falls from here to there, as a share of saturation. It ends below 1 because sensors bend before the white level
 * and noise spreads the last per cent (common practice, no source).
 */
const CLIP_LOW = 0.88
const CLIP_HIGH = 0.96

/** Rows of the frame that the reference rows y0 … y1 − 1 read, with the cubic's reach, kept within the picture's mirror. */
function sourceRows(
  map: RowFrame['map'],
  width: number,
  height: number,
  y0: number,
  y1: number,
): readonly [number, number] {
  const at = (x: number, y: number) => map[3] * x + map[4] * y + map[5]
  const corners = [at(0, y0), at(width, y0), at(0, y1 - 1), at(width, y1 - 1)]
  const top = Math.max(-1, Math.floor(Math.min(...corners)) - 1)
  const bottom = Math.min(height + 1, Math.floor(Math.max(...corners)) + 4)
  return [top, bottom]
}

/** How many reference rows fit a worker's scratch, for the largest slant among the frames. */
export function stripRowsFor(
  width: number,
  height: number,
  maps: readonly RowFrame['map'][],
  scratchBytes: number,
): number {
  const stride = planeStride(width) * 4
  for (const rows of [32, 16, 8, 4, 2, 1]) {
    const reach = Math.max(...maps.map((m) => Math.ceil(Math.abs(m[3]) * width + Math.abs(m[4]) * rows) + 6))
    const bytes = stride * (Math.min(reach, height + 2) * 4 + 12 + 2 * rows * maps.length) + 4096
    if (bytes < scratchBytes) return rows
  }
  return 0
}

/** Addresses of a strip's buffers in the worker's scratch. */
interface Buffers {
  readonly stride: number
  readonly entries: Address
  readonly work: Address
  readonly values: Address
  readonly frames: Address
}

/** Value and trust rows of one frame for the strip; `plane` chooses a colour when the picture comes in planes. */
function frameRows(
  context: TaskContext,
  p: RowParams,
  k: number,
  y0: number,
  y1: number,
  plane: number,
  b: Buffers,
): void {
  const { kernels } = context
  const f = p.frames[k]!
  const rowBytes = b.stride * 4
  const value = (y: number) => b.values + (k * p.stripRows + y - y0) * 2 * rowBytes
  const src = f.at + plane * p.width * p.height * 2
  const levels = f.levels + (p.cfa ? 0 : plane * 32)
  if (f.own) {
    kernels.linearRows(src, p.width, p.height, y0, y1 - y0, levels, b.frames, b.stride)
    for (let y = y0; y < y1; y++) {
      kernels.ownRow(b.frames + (y - y0) * rowBytes, p.width, CLIP_LOW, CLIP_HIGH, value(y), value(y) + rowBytes)
    }
    return
  }
  const [top, bottom] = sourceRows(f.map, p.width, p.height, y0, y1)
  const rows = bottom - top
  if (rows < 4) {
    for (let y = y0; y < y1; y++) context.memory.f32(value(y) + rowBytes, b.stride).fill(-1)
    return
  }
  const lin = b.frames
  const red = lin + (rows + 4) * rowBytes
  const green = red + rows * rowBytes
  const blue = green + rows * rowBytes
  kernels.linearRows(src, p.width, p.height, top - 2, rows + 4, levels, lin, b.stride)
  let planes: readonly [Address, Address, Address]
  if (p.cfa) {
    const redAt = p.cfa.indexOf(0)
    kernels.planeRows(
      lin,
      b.stride,
      p.width,
      top,
      rows,
      redAt,
      f.noiseScale,
      f.noiseOffset,
      CLIP_HIGH,
      red,
      green,
      blue,
    )
    planes = [red, green, blue]
  } else {
    const same = lin + 2 * rowBytes
    planes = [same, same, same]
  }
  for (let y = y0; y < y1; y++) {
    const even = planes[p.cfa ? cfaAt(p.cfa, y, 0) : 0]
    const odd = planes[p.cfa ? cfaAt(p.cfa, y, 1) : 0]
    kernels.resampleRow(
      even,
      odd,
      b.stride,
      top,
      rows,
      p.width,
      p.height,
      y,
      f.warp,
      p.table,
      CLIP_LOW,
      CLIP_HIGH,
      value(y),
      value(y) + rowBytes,
    )
  }
}

/** One strip of the merge: every frame laid on the reference, then the inverse-variance mean of each row. */
export const rowsTask: Task = (context, p: RowParams, item) => {
  const { kernels, memory } = context
  const y0 = item * p.stripRows
  const y1 = Math.min(p.height, y0 + p.stripRows)
  const stride = planeStride(p.width)
  const rowBytes = stride * 4
  const n = p.frames.length
  const entries = context.scratch
  const work = context.scratch + 4096
  const values = work + 2 * rowBytes
  const buffers: Buffers = {
    stride,
    entries,
    work,
    values,
    frames: values + n * p.stripRows * 2 * rowBytes + 2 * rowBytes,
  }
  const spare = work + rowBytes
  for (let plane = 0; plane < p.out.length; plane++) {
    for (let k = 0; k < n; k++) frameRows(context, p, k, y0, y1, plane, buffers)
    let clipped = 0
    for (let y = y0; y < y1; y++) {
      const even = p.cfa ? cfaAt(p.cfa, y, 0) : plane
      const odd = p.cfa ? cfaAt(p.cfa, y, 1) : plane
      p.frames.forEach((f, k) => {
        const row = values + (k * p.stripRows + y - y0) * 2 * rowBytes
        memory.u32(entries + k * COMBINE_WORDS * 4, 2).set([row, row + rowBytes])
        memory
          .f32(entries + k * COMBINE_WORDS * 4 + 8, 7)
          .set([f.gain, f.floor, f.s[even]!, f.s[odd]!, f.o[even]!, f.o[odd]!, 1 / f.gain])
      })
      const position = Math.min(Math.max((y + 0.5) / CELL - 0.5, 0), p.cellRows - 1)
      const above = Math.min(Math.floor(position), Math.max(0, p.cellRows - 2))
      const below = Math.min(above + 1, p.cellRows - 1)
      const map = p.expected[plane]![y & 1]!
      const cellBytes = p.cellColumns * 16
      const out = p.out[plane]! + y * p.width * 4
      const variance = plane === p.variancePlane ? p.variance + y * p.width * 4 : spare + PLANE_PAD * 4
      clipped += kernels.combineRow(
        entries,
        n,
        p.width,
        map + above * cellBytes,
        map + below * cellBytes,
        position - above,
        p.cellColumns,
        out,
        variance,
      )
    }
    memory.i32(p.clipped + (item * p.out.length + plane) * 4, 1)[0] = clipped
  }
}
