import type { Grid } from './grid.ts'
import type { Lamp } from './lamp.ts'
import { clamp, ease } from './noise.ts'
import { offBank } from './river.ts'

const CELL = 16
const WEST = -800
const SOUTH = -20
const ACROSS = 100
const ALONG = 83
/** No lamp lights a surface farther than this; its light fades out toward it. */
const REACH = 38
/** No lamp glitters on water farther than this. */
const GLITTER_REACH = 110

export interface LampLight {
  /** Adds the lamps' light on a surface, as the radiance of a white one; `withShadows` tests what stands between. */
  add(
    x: number,
    y: number,
    z: number,
    nx: number,
    ny: number,
    nz: number,
    withShadows: boolean,
    out: Float64Array,
  ): void
  /** Lamps whose glitter may reach a place on the water. */
  near(x: number, y: number): readonly Lamp[]
}

function cellsOf(lamps: readonly Lamp[], reach: number): Lamp[][] {
  const cells: Lamp[][] = Array.from({ length: ACROSS * ALONG }, () => [])
  for (const lamp of lamps) {
    const column = (x: number) => clamp(Math.floor((x - WEST) / CELL), 0, ACROSS - 1)
    const row = (y: number) => clamp(Math.floor((y - SOUTH) / CELL), 0, ALONG - 1)
    for (let j = row(lamp.y - reach); j <= row(lamp.y + reach); j++)
      for (let i = column(lamp.x - reach); i <= column(lamp.x + reach); i++) cells[j * ACROSS + i]!.push(lamp)
  }
  return cells
}

export function lampLightOf(lamps: readonly Lamp[], grid: Grid): LampLight {
  const close = cellsOf(lamps, REACH)
  const wide = cellsOf(
    lamps.filter((lamp) => offBank(lamp.x, lamp.y) < 45),
    GLITTER_REACH,
  )
  const cell = (x: number, y: number) =>
    clamp(Math.floor((y - SOUTH) / CELL), 0, ALONG - 1) * ACROSS + clamp(Math.floor((x - WEST) / CELL), 0, ACROSS - 1)
  return {
    near: (x, y) => wide[cell(x, y)]!,
    add(x, y, z, nx, ny, nz, withShadows, out) {
      const list = close[cell(x, y)]!
      for (let k = 0; k < list.length; k++) {
        const lamp = list[k]!
        const lx = lamp.x - x
        const ly = lamp.y - y
        const lz = lamp.z - z
        const d2 = lx * lx + ly * ly + lz * lz
        if (d2 > REACH * REACH) continue
        const d = Math.sqrt(d2)
        const facing = (lx * nx + ly * ny + lz * nz) / d
        if (facing <= 0) continue
        const fade = (1 - d2 / (REACH * REACH)) ** 2
        const shade = lamp.isShaded ? 0.03 + 0.97 * ease(-0.04, 0.22, lz / d) : 1
        const light = (facing * fade * shade) / (d2 + 0.6)
        if (light * lamp.power[0] < 0.003) continue
        // Shadows of a lamp that adds little to what is there already cannot be seen.
        if (
          withShadows &&
          light * lamp.power[0] > 0.04 * out[0]! &&
          grid.isBlocked(x + nx * 0.03, y + ny * 0.03, z + nz * 0.03, lamp.x, lamp.y, lamp.z)
        )
          continue
        out[0]! += light * lamp.power[0]
        out[1]! += light * lamp.power[1]
        out[2]! += light * lamp.power[2]
      }
    },
  }
}
