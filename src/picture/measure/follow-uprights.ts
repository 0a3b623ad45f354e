/** A straight edge that runs down the picture: x = at + slope·y, both from the picture's centre, in its pixels. */
export interface UprightEdge {
  readonly slope: number
  readonly at: number
  /** Rows from its first to its last, and the first. */
  readonly rows: number
  readonly from: number
  /** Standard error of the slope. */
  readonly slopeError: number
}

/** A picture in float, as `quarterRows` makes it: pixel (x, y) at x·across + y·down. */
export interface EdgePicture {
  readonly pixels: Float32Array
  readonly width: number
  readonly height: number
  readonly across: number
  readonly down: number
}

/** The same picture with rows and columns exchanged. */
export const transposed = (p: EdgePicture): EdgePicture => ({
  ...p,
  width: p.height,
  height: p.width,
  across: p.down,
  down: p.across,
})

const MOST_CHAINS = 30_000
/** Every second row is looked at; rows are smoothed over three. */
const STEP = 2
/** The shortest edge, in rows; and as a share of the picture's height. */
const SHORTEST = 14
const SHORTEST_SHARE = 0.02
/** Root mean square departure from straight, in pixels. */
const STRAIGHT = 0.4
/** An edge is placed to about this in a row; the error of a slope is never taken for less. */
const PLACED = 0.08

/**
 * Follows edges that run down the picture, at most 25° off, from row to row, each placed to a part of a pixel by a parabola
 * through the gradient; keeps those that are straight. `least` is the gradient (see below) that counts as an edge.
 *
 * Gradient: rows smoothed by (1 2 1), then (−1 −2 0 2 1) along the row. White noise of deviation s gives √60·s.
 */
export function followUprights(picture: EdgePicture, least: number): UprightEdge[] {
  const { width, height } = picture
  if (width < 16 || height < 16) return []
  const smooth = new Float32Array(width)
  const gradient = new Float32Array(width)
  const chains: Chain[] = []
  const open = { above: new Int32Array(width).fill(-1), here: new Int32Array(width).fill(-1) }
  for (let y = 1; y < height - 1; y += STEP) {
    smoothRow(picture, y, smooth)
    for (let x = 2; x < width - 2; x++)
      gradient[x] = smooth[x + 2]! - smooth[x - 2]! + 2 * (smooth[x + 1]! - smooth[x - 1]!)
    for (let x = 3; x < width - 3; x++) {
      const g = gradient[x]!
      const size = Math.abs(g)
      if (size < least) continue
      const left = g > 0 ? gradient[x - 1]! : -gradient[x - 1]!
      const right = g > 0 ? gradient[x + 1]! : -gradient[x + 1]!
      if (left > size || right >= size) continue
      const place = x + (0.5 * (left - right)) / Math.min(left - 2 * size + right, -1e-6)
      link(chains, open.above, open.here, x, y, place, g > 0)
    }
    const { above, here } = open
    open.above = here
    open.here = above.fill(-1)
  }
  const shortest = Math.max(SHORTEST, SHORTEST_SHARE * height)
  return chains.filter((c) => c.lastRow - c.y0 >= shortest).flatMap((c) => edgeOf(c, (width - 1) / 2, (height - 1) / 2))
}

function smoothRow({ pixels, across, down }: EdgePicture, y: number, out: Float32Array): void {
  let at = y * down
  for (let x = 0; x < out.length; x++, at += across) out[x] = pixels[at - down]! + 2 * pixels[at]! + pixels[at + down]!
}

/** Sums over the rows of one edge; x from where it began, so that squares stay small. */
interface Chain {
  readonly rising: boolean
  readonly x0: number
  readonly y0: number
  n: number
  x: number
  y: number
  xx: number
  xy: number
  yy: number
  last: number
  lastRow: number
}

/** Puts a place on the edge that ended beside it in the row above, or begins a new one. */
function link(
  chains: Chain[],
  above: Int32Array,
  here: Int32Array,
  x: number,
  y: number,
  place: number,
  rising: boolean,
) {
  let best = -1
  let nearest = 1.1
  for (let i = x - 1; i <= x + 1; i++) {
    const id = above[i]!
    if (id < 0) continue
    const c = chains[id]!
    const off = Math.abs(c.last - place)
    if (c.rising === rising && c.lastRow === y - STEP && off < nearest) {
      nearest = off
      best = id
    }
  }
  if (best < 0) {
    if (chains.length >= MOST_CHAINS) return
    best = chains.length
    chains.push({ rising, x0: place, y0: y, n: 0, x: 0, y: 0, xx: 0, xy: 0, yy: 0, last: place, lastRow: y })
  }
  const c = chains[best]!
  const [dx, dy] = [place - c.x0, y - c.y0]
  c.n++
  c.x += dx
  c.y += dy
  c.xx += dx * dx
  c.xy += dx * dy
  c.yy += dy * dy
  c.last = place
  c.lastRow = y
  here[x] = best
}

function edgeOf(c: Chain, cx: number, cy: number): UprightEdge[] {
  const yy = c.yy - (c.y * c.y) / c.n
  const xy = c.xy - (c.x * c.y) / c.n
  const xx = c.xx - (c.x * c.x) / c.n
  const slope = xy / yy
  const off = Math.sqrt(Math.max(xx - slope * xy, 0) / c.n)
  if (!(off <= STRAIGHT)) return []
  const at = c.x0 + c.x / c.n - cx - slope * (c.y0 + c.y / c.n - cy)
  return [{ slope, at, rows: c.lastRow - c.y0 + 1, from: c.y0, slopeError: Math.max(off, PLACED) / Math.sqrt(yy) }]
}
