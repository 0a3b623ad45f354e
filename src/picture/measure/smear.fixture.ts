import { type Random, seededRandom } from '#core/base'
import { type CfaPattern, cfaAt } from '#core/pixels'

/** A movement during the exposure: where the picture stood, in pixels, at even steps of time. */
export type Path = readonly (readonly [x: number, y: number])[]

export interface MadeNight {
  readonly width: number
  readonly height: number
  readonly seed: number
  readonly path: Path
  /** The lens's Gaussian blur, σ in pixels, at a place in the picture (−1..1 both ways). */
  readonly lensSigma: number | ((u: number, v: number) => number)
  /** Radius of the disc of defocus; 0 for none. */
  readonly discRadius?: number
  readonly lamps: number
  /** Streets and roof lines drawn as thin lines of light. */
  readonly lines?: number
  /** Electrons of the sky and its glow, at its brightest. */
  readonly glowElectrons?: number
  /** Light of the whole picture against the usual; noise does not scale with it. */
  readonly brightness?: number
  /** Smallest and largest light of a lamp, electrons of green; evenly spread in the logarithm. */
  readonly lampElectrons?: readonly [number, number]
  /** Each lamp is an even disc, its radius drawn evenly between these, pixels; points when absent. */
  readonly lampRadius?: readonly [number, number]
  /** Electrons at saturation and of the read noise; the usual sensor's when absent. */
  readonly sensor?: { readonly fullWell: number; readonly read: number }
  readonly cfa?: CfaPattern | null
  /** Turns the whole scene, degrees clockwise as seen; the movement is not turned with it. */
  readonly turnDegrees?: number
}

/** The sensor of the made camera: 6000 electrons, 1.8 of read noise, 12 bits. */
export const SENSOR = { fullWell: 6000, read: 1.8, black: 256, white: 4095 } as const

/** The same at a gain, and with each pixel parted in four: 48 MP instead of 12. */
export const sensorAt = (iso: number, megapixels: 12 | 48 = 12) => ({
  fullWell: (SENSOR.fullWell * 100) / iso / (megapixels === 48 ? 4 : 1),
  read: SENSOR.read,
})

/** Even movement over `length` pixels toward `degrees` (0 right, clockwise as seen). */
export function straight(length: number, degrees: number, steps = Math.max(2, Math.ceil(8 * length) + 1)): Path {
  const [c, s] = [Math.cos((degrees * Math.PI) / 180), Math.sin((degrees * Math.PI) / 180)]
  return Array.from({ length: steps }, (_, i) => {
    const at = ((i + 0.5) / steps - 0.5) * length
    return [at * c, at * s] as const
  })
}

/** √12 times the spread along the long axis beyond that across it, and the direction of that axis: what `smear` measures. */
export function truthOf(path: Path): { pixels: number; degrees: number; across: number } {
  const n = path.length
  const [mx, my] = [0, 1].map((k) => path.reduce((a, p) => a + p[k as 0 | 1], 0) / n) as [number, number]
  let [xx, yy, xy] = [0, 0, 0]
  for (const [x, y] of path) {
    xx += (x - mx) ** 2 / n
    yy += (y - my) ** 2 / n
    xy += ((x - mx) * (y - my)) / n
  }
  const q = Math.hypot(xx - yy, 2 * xy)
  return {
    pixels: Math.sqrt(12 * q),
    degrees: (((Math.atan2(2 * xy, xx - yy) * 90) / Math.PI + 180) % 180) as number,
    across: Math.sqrt(Math.max(0, (xx + yy - q) / 2)),
  }
}

/** erf by Abramowitz, Stegun 1964, 7.1.26: within 1.5e-7. */
function erf(x: number): number {
  const t = 1 / (1 + 0.3275911 * Math.abs(x))
  const y =
    1 -
    ((((1.061405429 * t - 1.453152027) * t + 1.421413741) * t - 0.284496736) * t + 0.254829592) * t * Math.exp(-x * x)
  return x < 0 ? -y : y
}

/** Points of even weight that stand for a disc: rings of 8, 16, 24 … so that its second moments are the same every way. */
function discPoints(radius: number): Path {
  if (!(radius > 0)) return [[0, 0]]
  const rings = Math.ceil(1 + 1.5 * radius)
  return Array.from({ length: rings }, (_, j) => j).flatMap((j) =>
    Array.from({ length: 8 * (2 * j + 1) }, (_, i) => {
      const r = (radius * Math.sqrt(j * j + j + 0.5)) / rings
      const a = ((i + 0.5 * (j & 1)) * 2 * Math.PI) / (8 * (2 * j + 1))
      return [r * Math.cos(a), r * Math.sin(a)] as const
    }),
  )
}

/** Adds `flux` electrons of each colour at (x, y), spread by a Gaussian and by the pixel's own square. */
function deposit(light: Float32Array, n: MadeNight, x: number, y: number, sigma: number, flux: readonly number[]) {
  const reach = Math.ceil(4.5 * sigma + 1)
  const [left, top] = [Math.round(x) - reach, Math.round(y) - reach]
  const k = 1 / (sigma * Math.SQRT2)
  const side = 2 * reach + 1
  const across = new Float64Array(side)
  const down = new Float64Array(side)
  let [lastX, lastY] = [erf((left - 0.5 - x) * k), erf((top - 0.5 - y) * k)]
  for (let i = 0; i < side; i++) {
    const [nextX, nextY] = [erf((left + i + 0.5 - x) * k), erf((top + i + 0.5 - y) * k)]
    across[i] = 0.5 * (nextX - lastX)
    down[i] = 0.5 * (nextY - lastY)
    ;[lastX, lastY] = [nextX, nextY]
  }
  for (let j = 0; j < side; j++) {
    const row = top + j
    if (row < 0 || row >= n.height) continue
    for (let i = 0; i < side; i++) {
      const column = left + i
      if (column < 0 || column >= n.width) continue
      const c = n.cfa === null ? 1 : cfaAt(n.cfa ?? [0, 1, 1, 2], row, column)
      light[row * n.width + column]! += flux[c]! * across[i]! * down[j]!
    }
  }
}

/** Places on a pixel's side where a stamped lamp may stand: truth is as exact as with any place, and stamps can be kept. */
const FINE = 8

/** The image of one lamp, sampled FINE times a pixel, each sample over a whole pixel. */
interface Stamp {
  readonly reach: number
  readonly side: number
  readonly values: Float32Array
}

/** Lens, disc of defocus, the lamp's own disc and the path, as one image of light 1. */
function stampOf(sigma: number, discs: readonly number[], path: Path): Stamp {
  let points: Path = path
  for (const radius of discs) {
    const disc = discPoints(radius)
    points = points.flatMap(([x, y]) => disc.map(([u, v]) => [x + u, y + v] as const))
  }
  const far = points.reduce((m, [x, y]) => Math.max(m, Math.abs(x), Math.abs(y)), 0)
  const reach = Math.ceil(far + 4.5 * sigma + 1)
  const side = 2 * reach * FINE + 1
  const values = new Float32Array(side * side)
  const k = 1 / (sigma * Math.SQRT2)
  const profile = (offset: number) =>
    Float64Array.from({ length: side }, (_, i) => {
      const t = i / FINE - reach - offset
      return Math.abs(t) > 4.5 * sigma + 1 ? 0 : 0.5 * (erf((t + 0.5) * k) - erf((t - 0.5) * k))
    })
  for (const [x, y] of points) {
    const across = profile(x)
    const first = across.findIndex((v) => v > 0)
    const fall = across.subarray(first).indexOf(0)
    const last = fall < 0 ? side : first + fall
    profile(y).forEach((v, j) => {
      if (v > 0) for (let i = first; i < last; i++) values[j * side + i]! += (v * across[i]!) / points.length
    })
  }
  return { reach, side, values }
}

/** Adds a lamp whose place is rounded to an eighth of a pixel. */
function stampLamp(light: Float32Array, n: MadeNight, x: number, y: number, stamp: Stamp, flux: readonly number[]) {
  const { reach, side, values } = stamp
  const [fx, fy] = [Math.round(x * FINE), Math.round(y * FINE)]
  const [left, top] = [Math.ceil(fx / FINE - reach), Math.ceil(fy / FINE - reach)]
  for (let row = Math.max(0, top); row <= Math.min(n.height - 1, fy / FINE + reach); row++)
    for (let column = Math.max(0, left); column <= Math.min(n.width - 1, fx / FINE + reach); column++) {
      const c = n.cfa === null ? 1 : cfaAt(n.cfa ?? [0, 1, 1, 2], row, column)
      const at = ((row + reach) * FINE - fy) * side + (column + reach) * FINE - fx
      light[row * n.width + column]! += flux[c]! * values[at]!
    }
}

const SIZES = 5

const COLOURS = [
  [0.7, 1, 0.5],
  [0.9, 0.8, 0.15],
  [0.5, 1, 0.9],
] as const

/** A night picture: sky glow, lamps of many brightnesses and colours, thin lines of light; through the sensor's noise. */
export function madeNight(n: MadeNight): Uint16Array {
  const random = seededRandom(n.seed)
  const { width, height } = n
  const brightness = n.brightness ?? 1
  const light = glow(n, random, (n.glowElectrons ?? 40) * brightness)
  const disc = discPoints(n.discRadius ?? 0)
  const sigmaAt = (x: number, y: number) =>
    typeof n.lensSigma === 'number' ? n.lensSigma : n.lensSigma((2 * x) / width - 1, (2 * y) / height - 1)
  const spread = (x: number, y: number, flux: readonly number[], path: Path) => {
    const each = flux.map((f) => f / (disc.length * path.length))
    const sigma = sigmaAt(x, y)
    for (const [dx, dy] of path) for (const [ex, ey] of disc) deposit(light, n, x + dx + ex, y + dy + ey, sigma, each)
  }
  const turned = turner(n)
  const [low, high] = n.lampElectrons ?? [1500, 300_000]
  const stamps = lampStamps(n)
  for (let i = 0; i < n.lamps; i++) {
    const flux = low * (high / low) ** random.uniform() * brightness
    const colour = COLOURS[Math.floor(3 * random.uniform())]!.map((c) => c * flux)
    const [x, y] = turned(random.uniform() * width, random.uniform() * height)
    if (stamps) stampLamp(light, n, x, y, stamps[Math.floor(stamps.length * random.uniform())]!, colour)
    else spread(x, y, colour, n.path)
  }
  const coarse = n.path.filter((_, i) => i % Math.ceil(n.path.length / 10) === 0)
  for (let i = 0; i < (n.lines ?? 0); i++) {
    const [x0, y0] = [random.uniform() * width, random.uniform() * height]
    const angle = random.uniform() * Math.PI
    const flux = 60 * 10 ** (1.5 * random.uniform()) * brightness
    for (let t = -80; t < 80; t += 1) {
      const [x, y] = turned(x0 + t * Math.cos(angle), y0 + t * Math.sin(angle))
      spread(x, y, [flux, flux, flux], coarse)
    }
  }
  return read(light, random, n.sensor ?? SENSOR)
}

/** Images of the lamps, one a size; null where the lens differs over the field. */
function lampStamps({ lensSigma, discRadius, lampRadius, path }: MadeNight): readonly Stamp[] | null {
  if (typeof lensSigma !== 'number') return null
  const defocus = discRadius ? [discRadius] : []
  if (!lampRadius) return [stampOf(lensSigma, defocus, path)]
  const [from, to] = lampRadius
  return Array.from({ length: SIZES }, (_, i) =>
    stampOf(lensSigma, [...defocus, from + ((to - from) * i) / (SIZES - 1)], path),
  )
}

/** Broad patches of sky glow. */
function glow(n: MadeNight, random: Random, peak: number): Float32Array {
  const { width, height } = n
  const light = new Float32Array(width * height)
  const patches = Array.from({ length: 4 }, () => [
    random.uniform() * width,
    random.uniform() * height,
    (0.2 + 0.3 * random.uniform()) * width,
  ])
  const turned = turner(n)
  const placed = patches.map(([x, y, r]) => [...turned(x!, y!), r!])
  for (let y = 0; y < height; y++)
    for (let x = 0; x < width; x++) {
      let sum = 0.1
      for (const [px, py, r] of placed) sum += 0.22 * Math.exp(-((x - px!) ** 2 + (y - py!) ** 2) / (r! * r!))
      light[y * width + x] = peak * sum
    }
  return light
}

function turner({ width, height, turnDegrees }: MadeNight) {
  const a = ((turnDegrees ?? 0) * Math.PI) / 180
  const [c, s] = [Math.cos(a), Math.sin(a)]
  return (x: number, y: number): [number, number] => [
    width / 2 + c * (x - width / 2) - s * (y - height / 2),
    height / 2 + s * (x - width / 2) + c * (y - height / 2),
  ]
}

function read(light: Float32Array, random: Random, sensor: { readonly fullWell: number; readonly read: number }) {
  const gain = (SENSOR.white - SENSOR.black) / sensor.fullWell
  const out = new Uint16Array(light.length)
  for (let i = 0; i < light.length; i++) {
    const electrons = random.poisson(light[i]!) + sensor.read * random.normal()
    out[i] = Math.min(SENSOR.white, Math.max(0, Math.round(SENSOR.black + gain * electrons)))
  }
  return out
}

/** A picture of straight edges in all directions, one a tile, without a lamp: blurred by lens and movement exactly. */
export function madeEdges(n: MadeNight): Uint16Array {
  const random = seededRandom(n.seed)
  const { width, height, path } = n
  const sigma = typeof n.lensSigma === 'number' ? n.lensSigma : n.lensSigma(0, 0)
  // The pixel's square across an edge of any direction has the variance of a Gaussian of 1/12 px².
  const k = 1 / (Math.sqrt(sigma * sigma + 1 / 12) * Math.SQRT2)
  const light = new Float32Array(width * height).fill(30)
  const TILE = 112
  for (let top = 0; top + TILE <= height; top += TILE)
    for (let left = 0; left + TILE <= width; left += TILE) {
      const angle = random.uniform() * 2 * Math.PI
      const step = 200 + 1500 * random.uniform()
      const [c, s] = [Math.cos(angle), Math.sin(angle)]
      const d = 6 * (random.uniform() - 0.5)
      const offsets = path.map(([x, y]) => x * c + y * s)
      for (let y = 0; y < TILE; y++)
        for (let x = 0; x < TILE; x++) {
          const u = (x - TILE / 2) * c + (y - TILE / 2) * s - d
          let p = u > 0 ? 1 : 0
          if (Math.abs(u) < 12 + 4 * sigma) {
            p = 0
            for (const o of offsets) p += (0.5 + 0.5 * erf((u - o) * k)) / offsets.length
          }
          light[(top + y) * width + left + x]! += step * p * fade(x / TILE) * fade(y / TILE)
        }
    }
  return read(light, random, n.sensor ?? SENSOR)
}

/** 1 in the middle, 0 at the rim of a tile, without a corner. */
function fade(t: number): number {
  const d = Math.min(1, Math.min(t, 1 - t) / 0.3)
  return d * d * d * (d * (6 * d - 15) + 10)
}
