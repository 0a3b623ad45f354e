import type { Scene, Spot } from '../scene.ts'
import { type Grid, gridOf } from './grid.ts'
import type { Lamp } from './lamp.ts'
import { type LampLight, lampLightOf } from './lamplight.ts'
import { planTown } from './plan.ts'
import { lookOf } from './shade.ts'
import { pinholeOf, type TownView } from './view.ts'

/** Share of a street lamp's light that leaves toward a camera above it, and of a bare lamp's. */
const UPWARD = { shaded: 0.03, bare: 0.12 } as const

/** Scattering in the lens: shares of a lamp's light in wider spots, and their σ in radians. */
const glare = [
  { share: 0.03, radians: 0.0022 },
  { share: 0.022, radians: 0.0085 },
] as const

interface Town {
  readonly seed: number
  readonly lamps: readonly Lamp[]
  readonly grid: Grid
  readonly light: LampLight
}

function buildTown(seed: number): Town {
  const { solids, lamps } = planTown(seed)
  const grid = gridOf(solids)
  return { seed, lamps, grid, light: lampLightOf(lamps, grid) }
}

/** The town built last. Building takes a tenth of a second and depends on the seed alone, so strips share it. */
let last: Town | null = null

export function townScene(view: TownView, width: number, height: number): Scene {
  const town = last?.seed === view.seed ? last : buildTown(view.seed)
  last = town
  const { grid, lamps } = town
  const camera = pinholeOf(view, width, height)
  const look = lookOf(grid, town.light, view.seed, 1 / camera.focalPixels)
  const direction = new Float64Array(3)
  const radiance = new Float64Array(3)
  return {
    row(y, left, n, out) {
      for (let i = 0; i < n; i++) {
        camera.ray(left + i, y, direction)
        look(camera.x, camera.y, camera.z, direction[0]!, direction[1]!, direction[2]!, radiance)
        out.set(radiance, i * 3)
      }
    },
    spots() {
      const spots: Spot[] = []
      for (const lamp of lamps) {
        const at = camera.project(lamp.x, lamp.y, lamp.z)
        const room = 0.05 * width
        if (at.depth < 5 || at.column < -room || at.column > width + room || at.row < -room || at.row > height + room)
          continue
        if (grid.isBlocked(lamp.x, lamp.y, lamp.z, camera.x, camera.y, camera.z)) continue
        const far = Math.hypot(lamp.x - camera.x, lamp.y - camera.y, lamp.z - camera.z)
        const perMetre = camera.focalPixels / far
        const size =
          Math.PI * (lamp.isShaded ? UPWARD.shaded : UPWARD.bare) * perMetre * perMetre * Math.exp(-far / 4200)
        const spot = (share: number, sigma: number) =>
          spots.push({
            x: at.column,
            y: at.row,
            sigma,
            flux: [lamp.power[0] * size * share, lamp.power[1] * size * share, lamp.power[2] * size * share],
          })
        spot(1, Math.hypot(1.1, 0.1 * perMetre))
        for (const g of glare) spot(g.share, Math.hypot(1.1, g.radians * camera.focalPixels))
      }
      return spots
    },
  }
}
