import { type Entry, enter, extentOf, POST, packSolids, type Solid, STRIDE, topOf } from './solids.ts'

/** Solids that reach higher are few and tested by every ray, so that rays enter the cells low. */
const ROOFLINE = 24

const BED = -4

const CELL = 8
const WEST = -800
const SOUTH = -20
const ACROSS = 200
const ALONG = 165

/** Solids sorted into cells of the ground plan, for rays. */
export interface Grid {
  /** The nearest solid that a ray enters before `entry.distance`; updates `entry`. */
  nearest(ox: number, oy: number, oz: number, dx: number, dy: number, dz: number, entry: Entry): Solid | null
  /** True when something stands between two points (its ends excepted by 2 %). */
  isBlocked(ax: number, ay: number, az: number, bx: number, by: number, bz: number): boolean
}

const CELLS = ACROSS * ALONG
const column = (x: number) => Math.min(Math.max(Math.floor((x - WEST) / CELL), 0), ACROSS - 1)
const row = (y: number) => Math.min(Math.max(Math.floor((y - SOUTH) / CELL), 0), ALONG - 1)

/** For each cell the numbers of the solids that may reach into it: `list` from `starts[cell]` to `starts[cell + 1]`. */
function sortIntoCells(
  solids: readonly Solid[],
  from: number,
): { starts: Int32Array; list: Int32Array; heights: Float64Array; tops: Float64Array } {
  const starts = new Int32Array(CELLS + 1)
  const tops = new Float64Array(CELLS).fill(-100)
  const visit = (each: (cell: number, index: number) => void) =>
    solids.forEach((s, index) => {
      if (index < from) return
      const [ex, ey] = extentOf(s)
      for (let j = row(s.y - ey); j <= row(s.y + ey); j++)
        for (let i = column(s.x - ex); i <= column(s.x + ex); i++) each(j * ACROSS + i, index)
    })
  visit((cell, index) => {
    starts[cell + 1]!++
    tops[cell] = Math.max(tops[cell]!, topOf(solids[index]!))
  })
  for (let c = 0; c < CELLS; c++) starts[c + 1]! += starts[c]!
  const list = new Int32Array(starts[CELLS]!)
  const heights = new Float64Array(starts[CELLS]!)
  const filled = starts.slice()
  visit((cell, index) => {
    list[filled[cell]!++] = index
  })
  // The highest first, so that a ray can stop at the first that it passes above.
  for (let c = 0; c < CELLS; c++) {
    list.subarray(starts[c]!, starts[c + 1]!).sort((a, b) => topOf(solids[b]!) - topOf(solids[a]!))
    for (let k = starts[c]!; k < starts[c + 1]!; k++) heights[k] = topOf(solids[list[k]!]!)
  }
  return { starts, list, heights, tops }
}

export function gridOf(solids: readonly Solid[]): Grid {
  const ordered = [...solids.filter((s) => topOf(s) > ROOFLINE), ...solids.filter((s) => topOf(s) <= ROOFLINE)]
  const tall = ordered.findIndex((s) => topOf(s) <= ROOFLINE)
  const packed = packSolids(ordered)
  const { starts, list, heights, tops } = sortIntoCells(ordered, tall)

  function nearest(
    ox: number,
    oy: number,
    oz: number,
    dx: number,
    dy: number,
    dz: number,
    entry: Entry,
    any: boolean,
  ): number {
    let found = -1
    for (let k = 0; k < tall; k++) if (enter(packed, k, ox, oy, oz, dx, dy, dz, entry)) found = k
    // Start where the ray comes below the roofs and inside the plan.
    let t = 0
    let end = entry.distance
    if (oz > ROOFLINE) {
      if (dz >= 0) return found
      t = (ROOFLINE - oz) / dz
    } else if (dz > 0) end = Math.min(end, (ROOFLINE - oz) / dz)
    // Nothing stands below the river's bed.
    if (dz < 0) end = Math.min(end, (BED - oz) / dz)
    // A direction exactly along an axis would divide by zero; a billionth off it is the same ray.
    const sx = Math.abs(dx) < 1e-9 ? 1e-9 : dx
    const sy = Math.abs(dy) < 1e-9 ? 1e-9 : dy
    const west = (WEST - ox) / sx
    const east = (WEST + ACROSS * CELL - ox) / sx
    const south = (SOUTH - oy) / sy
    const north = (SOUTH + ALONG * CELL - oy) / sy
    t = Math.max(t, Math.min(west, east), Math.min(south, north))
    end = Math.min(end, Math.max(west, east), Math.max(south, north))
    if (t >= end) return found
    let i = column(ox + t * sx)
    let j = row(oy + t * sy)
    const di = sx > 0 ? 1 : -1
    const dj = sy > 0 ? 1 : -1
    const stepX = CELL / Math.abs(sx)
    const stepY = CELL / Math.abs(sy)
    let nextX = (WEST + (i + (di > 0 ? 1 : 0)) * CELL - ox) / sx
    let nextY = (SOUTH + (j + (dj > 0 ? 1 : 0)) * CELL - oy) / sy
    for (;;) {
      const leave = Math.min(nextX, nextY, end)
      const at = j * ACROSS + i
      const lowest = oz + (dz < 0 ? leave : t) * dz
      if (lowest < tops[at]!) {
        for (let k = starts[at]!; k < starts[at + 1]! && heights[k]! > lowest; k++) {
          if (any && packed[list[k]! * STRIDE] === POST) continue
          if (enter(packed, list[k]!, ox, oy, oz, dx, dy, dz, entry)) {
            found = list[k]!
            if (any) return found
          }
        }
        if (found >= 0 && entry.distance <= leave + 1e-6) return found
      }
      if (leave >= end) return found
      t = leave
      if (nextX < nextY) {
        i += di
        nextX += stepX
        if (i < 0 || i >= ACROSS) return found
      } else {
        j += dj
        nextY += stepY
        if (j < 0 || j >= ALONG) return found
      }
    }
  }

  const probe: Entry = { distance: 0, face: 0 }
  return {
    nearest(ox, oy, oz, dx, dy, dz, entry) {
      const found = nearest(ox, oy, oz, dx, dy, dz, entry, false)
      return found < 0 ? null : ordered[found]!
    },
    isBlocked(ax, ay, az, bx, by, bz) {
      const length = Math.hypot(bx - ax, by - ay, bz - az)
      const dx = (bx - ax) / length
      const dy = (by - ay) / length
      const dz = (bz - az) / length
      const skip = Math.min(0.02 * length, 0.25)
      probe.distance = length - 2 * skip
      return nearest(ax + dx * skip, ay + dy * skip, az + dz * skip, dx, dy, dz, probe, true) >= 0
    },
  }
}
