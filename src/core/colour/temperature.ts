import { correctedIsotherms, type Isotherm, printedIsotherms } from './isotherms.ts'
import type { Chromaticity } from './white.ts'

/** Which table a temperature is read from: right, or as DNG readers do (wrong by up to 23 K between 2860 and 3330 K). */
export type IsothermTable = 'corrected' | 'as-dng-readers'

/**
 * Correlated colour temperature in kelvin, and tint: −3000 times the distance from the Planckian locus along the
 * isotherm in CIE 1960 u, v, the unit of DNG 1.6 readers. Positive: the light is greener than a Planckian radiator (all
 * daylight is, by about 10); negative: pinker.
 */
export interface Temperature {
  readonly kelvin: number
  readonly tint: number
}

const TINT_SCALE = -3000

const rows = (table: IsothermTable) => (table === 'corrected' ? correctedIsotherms : printedIsotherms)

/** Unit direction of an isotherm. */
const direction = ([, , , slope]: Isotherm): readonly [number, number] => {
  const length = Math.hypot(1, slope)
  return [1 / length, slope / length]
}

function unit(du: number, dv: number): readonly [number, number] {
  const length = Math.hypot(du, dv)
  return [du / length, dv / length]
}

/** The locus point and isotherm direction between two rows, `share` of the way back from row `i` to row `i − 1`. */
function between(table: readonly Isotherm[], i: number, share: number) {
  const [a, b] = [table[i - 1]!, table[i]!]
  const mix = (p: number, q: number) => p * share + q * (1 - share)
  const [da, db] = [direction(a), direction(b)]
  const [du, dv] = unit(mix(da[0], db[0]), mix(da[1], db[1]))
  return { mired: mix(a[0], b[0]), u: mix(a[1], b[1]), v: mix(a[2], b[2]), du, dv }
}

/**
 * Temperature of a chromaticity by Robertson 1968; range 1667 to 100,000 K, clamped outside. The default table is
 * the corrected one; colour matrices of a raw file are blended with 'as-dng-readers' because their maker's readers do.
 */
export function temperatureOf([x, y]: Chromaticity, table: IsothermTable = 'corrected'): Temperature {
  const lines = rows(table)
  const u = (2 * x) / (1.5 - x + 6 * y)
  const v = (3 * y) / (1.5 - x + 6 * y)
  const last = lines.length - 1
  let before = 0
  for (let i = 1; i <= last; i++) {
    const line = lines[i]!
    const [du, dv] = direction(line)
    const distance = (v - line[2]) * du - (u - line[1]) * dv
    if (distance > 0 && i < last) {
      before = distance
      continue
    }
    const past = -Math.min(distance, 0)
    const at = between(lines, i, i === 1 ? 0 : past / (before + past))
    return { kelvin: 1e6 / at.mired, tint: TINT_SCALE * ((u - at.u) * at.du + (v - at.v) * at.dv) }
  }
  throw new Error('the isotherm table is empty')
}

/** The chromaticity of a temperature and tint: the inverse of temperatureOf between 1667 and 100,000 K. */
export function chromaticityOf({ kelvin, tint }: Temperature, table: IsothermTable = 'corrected'): Chromaticity {
  const lines = rows(table)
  const mired = Math.min(Math.max(1e6 / kelvin, 10), lines[lines.length - 1]![0])
  const i = Math.max(
    1,
    lines.findIndex(([m]) => m >= mired),
  )
  const [low, high] = [lines[i - 1]![0], lines[i]![0]]
  const at = between(lines, i, (high - mired) / (high - low))
  const u = at.u + (at.du * tint) / TINT_SCALE
  const v = at.v + (at.dv * tint) / TINT_SCALE
  const scale = u - 4 * v + 2
  return [(1.5 * u) / scale, v / scale]
}

/** McCamy 1992: temperature in kelvin from x, y by a cubic; about ±2 K near the locus from 2856 to 6500 K. */
export function mccamyKelvin([x, y]: Chromaticity): number {
  const n = (x - 0.332) / (y - 0.1858)
  return ((-449 * n + 3525) * n - 6823.3) * n + 5520.33
}
