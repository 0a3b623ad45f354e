import { type Address, planeStride, type TaskContext } from '#core/kernels'
import type { CfaPattern } from '#core/pixels'

/** One frame as the merge of a tile needs it; all numbers already in reference units. */
export interface TileFrame {
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

/** The picture that frames and reference share. */
export interface Field {
  readonly width: number
  readonly height: number
  readonly cfa: CfaPattern | null
  /** Weights of cubic convolution. */
  readonly table: Address
}

/** A piece of the reference: columns left … right − 1, rows top … bottom − 1; left is a multiple of 8. */
export interface Tile {
  readonly left: number
  readonly right: number
  readonly top: number
  readonly bottom: number
}

/** Value and trust rows of one frame over a tile: row i of the tile has its values at `at` + 2·i·rowBytes, its trust a row further. */
export interface LaidRows {
  readonly at: Address
  readonly rowBytes: number
}

/**
 * Trust falls from here to there, as a share of saturation. It ends below 1 because sensors bend before the white level
 * and noise spreads the last per cent (common practice, no source).
 */
const CLIP_LOW = 0.88
const CLIP_HIGH = 0.96

/** What of the frame a tile reads, with the cubic's reach, inside the picture; left is even, and four rows and columns at least. */
export function sourceOf(map: TileFrame['map'], { width, height }: { width: number; height: number }, t: Tile): Tile {
  const corners = [t.left, t.right].flatMap((x) =>
    [t.top, t.bottom - 1].map((y) => [map[0] * x + map[1] * y + map[2], map[3] * x + map[4] * y + map[5]] as const),
  )
  const xs = corners.map(([x]) => x)
  const ys = corners.map(([, y]) => y)
  const within = (v: number, low: number, high: number) => Math.min(high, Math.max(low, v))
  return {
    left: within(Math.floor(Math.min(...xs)) - 2, 0, width - 4) & ~1,
    right: within(Math.floor(Math.max(...xs)) + 12, 4, width),
    top: within(Math.floor(Math.min(...ys)) - 1, 0, height - 4),
    bottom: within(Math.floor(Math.max(...ys)) + 4, 4, height),
  }
}

/** Where laying a frame keeps things in its scratch, from the sizes of what it reads and of the tile. */
function layout(source: Tile, columns: number) {
  const rows = source.bottom - source.top
  const stride = planeStride(source.right - source.left)
  const planeBytes = rows * stride * 4
  const crossRowBytes = ((columns + 7) & ~7) * 4
  const crossBytes = rows * crossRowBytes
  const lin = 256
  const planes = lin + (rows + 4) * stride * 4
  const crossed = planes + 4 * planeBytes
  const flags = crossed + 4 * crossBytes + 64
  return {
    rows,
    stride,
    planeBytes,
    crossRowBytes,
    crossBytes,
    lin,
    planes,
    crossed,
    flags,
    bytes: flags + 2 * rows + 64,
  }
}

/** Scratch that laying one frame over a tile takes. */
export const layingBytes = (source: Tile, columns: number): number => layout(source, columns).bytes

/** The reference lies on itself: only trust is worked out. */
function layOwn(
  { kernels }: TaskContext,
  src: Address,
  field: Field,
  levels: Address,
  tile: Tile,
  rows: LaidRows,
  scratch: Address,
): void {
  const columns = tile.right - tile.left
  const stride = planeStride(columns)
  kernels.linearRows(
    src,
    field.width,
    field.height,
    tile.left,
    columns,
    tile.top,
    tile.bottom - tile.top,
    levels,
    scratch,
    stride,
  )
  for (
    let y = tile.top, value = rows.at, from = scratch;
    y < tile.bottom;
    y++, value += 2 * rows.rowBytes, from += stride * 4
  ) {
    kernels.ownRow(from, columns, CLIP_LOW, CLIP_HIGH, value, value + rows.rowBytes)
  }
}

/** Lays frame `f` on a tile of the reference; `plane` chooses the colour of a picture that comes in planes. */
export function layFrame(
  context: TaskContext,
  field: Field,
  f: TileFrame,
  tile: Tile,
  plane: number,
  rows: LaidRows,
  scratch: Address,
): void {
  const { kernels, memory } = context
  const { width, height, cfa, table } = field
  const columns = tile.right - tile.left
  const src = f.at + plane * width * height * 2
  const levels = f.levels + (cfa ? 0 : plane * 32)
  if (f.own) {
    layOwn(context, src, field, levels, tile, rows, scratch)
    return
  }
  const source = sourceOf(f.map, field, tile)
  const across = source.right - source.left
  const l = layout(source, columns)
  const [place, lin, planes] = [scratch, scratch + l.lin, scratch + l.planes]
  memory.i32(place, 6).set([source.left, source.top, across, l.rows, width, height])
  kernels.linearRows(src, width, height, source.left, across, source.top - 2, l.rows + 4, levels, lin, l.stride)
  const red = cfa?.indexOf(0) ?? 0
  if (cfa) {
    kernels.planeRows(
      lin,
      l.stride,
      across,
      source.top,
      l.rows,
      red,
      f.noiseScale,
      f.noiseOffset,
      CLIP_HIGH,
      f.floor > 0 ? 0 : 1,
      planes,
      l.planeBytes,
    )
  }
  // Rows of the reference with red and rows with blue read different planes; a picture in planes has but one kind.
  for (let kind = 0; kind < (cfa ? 2 : 1); kind++) {
    const straight = cfa ? planes + 2 * kind * l.planeBytes : lin + 2 * l.stride * 4
    const crossed = cfa ? straight + l.planeBytes : straight
    const value = scratch + l.crossed + 2 * kind * l.crossBytes
    const most = value + l.crossBytes
    const flags = scratch + l.flags + kind * l.rows
    kernels.acrossRows(
      straight,
      crossed,
      l.stride,
      place,
      tile.left,
      columns,
      f.warp,
      table,
      CLIP_LOW,
      value,
      most,
      l.crossRowBytes,
      flags,
    )
    for (let y = tile.top; y < tile.bottom; y++) {
      if (cfa && ((y & 1) === red >> 1) !== (kind === 0)) continue
      const out = rows.at + (y - tile.top) * 2 * rows.rowBytes
      kernels.downRow(
        value,
        most,
        l.crossRowBytes,
        flags,
        place,
        tile.left,
        columns,
        y,
        f.warp,
        table,
        CLIP_LOW,
        CLIP_HIGH,
        out,
        out + rows.rowBytes,
      )
    }
  }
}
