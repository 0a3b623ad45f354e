import type { Random } from '#core/base'
import { seededRandom } from '#core/base'
import type { Address, Crew, TaskContext } from '#core/kernels'
import { cfaAt } from '#core/pixels'
import type { Sensor } from './camera.ts'
import type { Master } from './master.ts'
import { type Lookup, lookupOf, type Motion } from './motion.ts'
import { PHASES, TAPS } from './phases.ts'

/** One exposure: `ratio` is the light on the sensor over the reference frame's (time × scene light). */
export interface Exposure {
  readonly ratio: number
  readonly motion: Motion
  /** Frames of different seeds have independent noise; null takes the frame without noise, unrounded values still rounded. */
  readonly seed: number | null
}

interface ExposeParams extends Master {
  readonly mosaic: Address
  readonly sensor: Sensor
  readonly ratio: number
  readonly lookup: Lookup
  readonly seed: number | null
}

const ROWS = 16

/** Takes one frame: width × height 16-bit samples in the crew's memory, at the returned address. */
export async function exposeFrame(crew: Crew, master: Master, sensor: Sensor, exposure: Exposure): Promise<Address> {
  const mosaic = crew.arena.alloc(master.width * master.height * 2)
  const params: ExposeParams = {
    ...master,
    mosaic,
    sensor,
    ratio: exposure.ratio,
    lookup: lookupOf(exposure.motion, master.width, master.height),
    seed: exposure.seed,
  }
  await crew.run('simulate.expose', params, Math.ceil(master.height / ROWS))
  return mosaic
}

export function exposeTask({ memory, scratch }: TaskContext, p: ExposeParams, item: number): void {
  const size = p.planeWidth * p.planeHeight
  const planes = memory.f32(p.planes, size * 3)
  const weights = memory.f32(p.weights, (PHASES + 1) * TAPS)
  const light = memory.f32(scratch, p.width)
  const last = Math.min((item + 1) * ROWS, p.height)
  for (let y = item * ROWS; y < last; y++) {
    lightRow(p, planes, weights, y, light)
    const out = memory.u16(p.mosaic + y * p.width * 2, p.width)
    // Every row has its own stream, so that the frame does not depend on how rows are shared among threads.
    readRow(p.sensor, p.ratio, y, light, p.seed === null ? null : seededRandom(Math.imul(p.seed, 0x9e3779b1) + y), out)
  }
}

/** The light on one sensor row, each pixel through its own filter, by 8 × 8 interpolation of the master. */
function lightRow(p: ExposeParams, planes: Float32Array, weights: Float32Array, y: number, out: Float32Array): void {
  const { originX, originY, stepX, stepY } = p.lookup
  const size = p.planeWidth * p.planeHeight
  const bases = [cfaAt(p.sensor.cfa, y, 0) * size, cfaAt(p.sensor.cfa, y, 1) * size] as const
  const stride = p.planeWidth
  const maxX = p.planeWidth - TAPS
  const maxY = p.planeHeight - TAPS
  const first = TAPS / 2 - 1
  for (let x = 0; x < p.width; x++) {
    const sx = originX + x * stepX - y * stepY + p.margin
    const sy = originY + x * stepY + y * stepX + p.margin
    let left = Math.floor(sx)
    let top = Math.floor(sy)
    const wx = Math.round((sx - left) * PHASES) * TAPS
    const wy = Math.round((sy - top) * PHASES) * TAPS
    const base = bases[x & 1]!
    if (wx === 0 && wy === 0) {
      out[x] = planes[base + top * stride + left]!
      continue
    }
    left = Math.min(Math.max(left - first, 0), maxX)
    top = Math.min(Math.max(top - first, 0), maxY)
    let at = base + top * stride + left
    const w0 = weights[wx]!
    const w1 = weights[wx + 1]!
    const w2 = weights[wx + 2]!
    const w3 = weights[wx + 3]!
    const w4 = weights[wx + 4]!
    const w5 = weights[wx + 5]!
    const w6 = weights[wx + 6]!
    const w7 = weights[wx + 7]!
    let sum = 0
    for (let j = 0; j < TAPS; j++) {
      sum +=
        weights[wy + j]! *
        (w0 * planes[at]! +
          w1 * planes[at + 1]! +
          w2 * planes[at + 2]! +
          w3 * planes[at + 3]! +
          w4 * planes[at + 4]! +
          w5 * planes[at + 5]! +
          w6 * planes[at + 6]! +
          w7 * planes[at + 7]!)
      at += stride
    }
    out[x] = sum
  }
}

function readRow(
  s: Sensor,
  ratio: number,
  y: number,
  light: Float32Array,
  random: Random | null,
  out: Uint16Array,
): void {
  const top = 2 ** s.bitsPerSample - 1
  const electrons = ratio * s.fullWellElectrons
  // DNG divides every site by white minus the largest black (DNG 1.6 chapter 5), so one gain serves all.
  const gain = (s.white - Math.max(...s.black)) / s.fullWellElectrons
  for (let x = 0; x < out.length; x++) {
    const black = s.black[((y & 1) << 1) | (x & 1)]!
    const mean = Math.max(light[x]! * electrons, 0)
    const read = random ? countWithRead(random, mean, s.readNoiseElectrons) : mean
    out[x] = Math.min(Math.max(Math.round(black + gain * read), 0), Math.min(s.white, top))
  }
}

/** Below this mean the photons are counted one by one. */
const COUNTED = 24

/**
 * Electrons read: a Poisson count and Gaussian read noise. Few photons: the count by inversion (Devroye 1986, section
 * X.3). Many: one normal for both, bent to the count's skewness (Cornish, Fisher 1938, first term).
 */
export function countWithRead(random: Random, mean: number, readNoise: number): number {
  if (mean < COUNTED) {
    const u = random.uniform()
    let term = Math.exp(-mean)
    let sum = term
    let k = 0
    // The sum ends below 1 by rounding; 200 is far beyond any count that 32 random bits can ask for.
    while (u > sum && k < 200) {
      k++
      term *= mean / k
      sum += term
    }
    return k + readNoise * random.normal()
  }
  const n = random.normal()
  const variance = mean + readNoise * readNoise
  return mean + n * Math.sqrt(variance) + ((n * n - 1) * mean) / (6 * variance)
}
