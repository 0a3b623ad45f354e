import type { Address, Arena } from '#core/kernels'
import { type GainMap, opcodeExtent } from '#picture/raw'

/** The rows and columns of a picture that one gain map reaches, and the map laid in the shared memory for them. */
export interface GainPass {
  readonly top: number
  readonly bottom: number
  readonly rowPitch: number
  readonly left: number
  readonly columnPitch: number
  readonly columns: number
  /** f32 [v][h], pointsH + 1 a row: the last repeated, so that every index has a right neighbour. */
  readonly nodes: Address
  readonly nodesPerRow: number
  readonly pointsV: number
  readonly spacingV: number
  readonly originV: number
  /** Pairs of i32 index and f32 fraction, one per reached column. */
  readonly columnTable: Address
}

interface Axis {
  readonly points: number
  readonly spacing: number
  readonly origin: number
}

/**
 * Where along an axis of map points pixel `at` of `size` stands: index of the point before it and fraction to the next.
 * The position is that of the pixel's centre, (at + ½)/size, as the DNG reference code has it; the specification's
 * formula uses the pixel's corner over size − 1. Beyond the first and last point the edge repeats.
 */
export function mapPosition(at: number, size: number, { points, spacing, origin }: Axis) {
  if (points === 1) return { index: 0, fraction: 0 }
  const place = ((at + 0.5) / size - origin) / spacing
  const clamped = Math.min(Math.max(place, 0), points - 1)
  const index = Math.min(Math.floor(clamped), points - 2)
  return { index, fraction: clamped - index }
}

/**
 * Lays a map's plane in memory for a picture of width × height; null when its area lies outside. The addresses stay
 * valid until the arena is released below them.
 */
export function layGainMap(
  arena: Arena,
  map: GainMap,
  mapPlane: number,
  width: number,
  height: number,
): GainPass | null {
  const area = opcodeExtent(map.area, width, height)
  if (area.bottom <= area.top || area.right <= area.left) return null
  const { pointsV, pointsH, mapPlanes } = map
  const plane = Math.min(mapPlane, mapPlanes - 1)
  const nodesPerRow = pointsH + 1
  const nodes = arena.alloc(4 * pointsV * nodesPerRow)
  const table = arena.f32(nodes, pointsV * nodesPerRow)
  for (let v = 0; v < pointsV; v++)
    for (let h = 0; h < nodesPerRow; h++)
      table[v * nodesPerRow + h] = map.gains[(v * pointsH + Math.min(h, pointsH - 1)) * mapPlanes + plane]!

  const columnPitch = map.area.columnPitch
  const columns = Math.ceil((area.right - area.left) / columnPitch)
  const columnTable = arena.alloc(8 * columns)
  const index = arena.i32(columnTable, 2 * columns)
  const fraction = arena.f32(columnTable, 2 * columns)
  const axis = { points: pointsH, spacing: map.spacingH, origin: map.originH }
  for (let k = 0; k < columns; k++) {
    const at = mapPosition(area.left + k * columnPitch, width, axis)
    index[2 * k] = at.index
    fraction[2 * k + 1] = at.fraction
  }
  return {
    ...{ top: area.top, bottom: area.bottom, left: area.left },
    ...{ rowPitch: map.area.rowPitch, columnPitch, columns, nodes, nodesPerRow, columnTable },
    ...{ pointsV, spacingV: map.spacingV, originV: map.originV },
  }
}
