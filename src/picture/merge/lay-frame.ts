import { type Address, planeStride, type TaskContext } from '#core/kernels'
import { type CfaPattern, cfaAt } from '#core/pixels'

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

/** Scratch that laying one frame over a tile takes. */
export function layingBytes(source: Tile): number {
  const rows = Math.max(0, source.bottom - source.top)
  return planeStride(Math.max(0, source.right - source.left)) * 4 * (4 * rows + 8) + 1024
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
  const { width, height, cfa } = field
  const columns = tile.right - tile.left
  const src = f.at + plane * width * height * 2
  const levels = f.levels + (cfa ? 0 : plane * 32)
  const place = scratch
  const lin = scratch + 256
  if (f.own) {
    const stride = planeStride(columns)
    kernels.linearRows(src, width, height, tile.left, columns, tile.top, tile.bottom - tile.top, levels, lin, stride)
    for (
      let y = tile.top, value = rows.at, from = lin;
      y < tile.bottom;
      y++, value += 2 * rows.rowBytes, from += stride * 4
    ) {
      kernels.ownRow(from, columns, CLIP_LOW, CLIP_HIGH, value, value + rows.rowBytes)
    }
    return
  }
  const source = sourceOf(f.map, field, tile)
  const count = source.bottom - source.top
  const across = source.right - source.left
  const stride = planeStride(across)
  const bytes = stride * 4
  kernels.linearRows(src, width, height, source.left, across, source.top - 2, count + 4, levels, lin, stride)
  const planes = planesOf(context, field, f, source, lin, stride)
  memory.i32(place, 6).set([source.left, source.top, across, count, width, height])
  for (let y = tile.top, value = rows.at; y < tile.bottom; y++, value += 2 * rows.rowBytes) {
    const even = planes ? planes + cfaAt(cfa!, y, 0) * count * bytes : lin + 2 * bytes
    const odd = planes ? planes + cfaAt(cfa!, y, 1) * count * bytes : lin + 2 * bytes
    kernels.resampleRow(
      even,
      odd,
      stride,
      place,
      tile.left,
      columns,
      y,
      f.warp,
      field.table,
      CLIP_LOW,
      CLIP_HIGH,
      value,
      value + rows.rowBytes,
    )
  }
}

/** The three full planes of a mosaic, one after the other; 0 for a picture that has them already. */
function planesOf(
  { kernels }: TaskContext,
  { cfa }: Field,
  f: TileFrame,
  source: Tile,
  lin: Address,
  stride: number,
): Address {
  if (!cfa) return 0
  const count = source.bottom - source.top
  const bytes = stride * 4
  const red = lin + (count + 4) * bytes
  kernels.planeRows(
    lin,
    stride,
    source.right - source.left,
    source.top,
    count,
    cfa.indexOf(0),
    f.noiseScale,
    f.noiseOffset,
    CLIP_HIGH,
    red,
    red + count * bytes,
    red + 2 * count * bytes,
  )
  return red
}
