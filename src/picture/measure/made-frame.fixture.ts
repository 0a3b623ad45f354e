import { seededRandom } from '#core/base'
import type { TaskContext } from '#core/kernels'
import { SCRATCH_BYTES } from '#core/kernels'
import { bothKernels } from '../../../test/kernels.ts'
import { type FrameLevels, frameLevels, lightGrid } from './frame-levels.ts'
import type { LevelFrame } from './level-frame.ts'

export interface MadeSensor {
  readonly fullWellElectrons: number
  readonly readNoiseElectrons: number
  readonly black?: readonly [number, number, number, number]
  readonly white?: number
}

/** Light at a place, 1 = full well; phase in row order of the 2 × 2 pattern. */
export type Light = (x: number, y: number, phase: number) => number

/** A frame of known electrons: Poisson light, Gaussian read noise, rounded codes (EMVA 1288). `seed` null = no noise. */
export function madeSamples(
  sensor: MadeSensor,
  width: number,
  height: number,
  light: Light,
  seed: number | null,
): Uint16Array {
  const { fullWellElectrons, readNoiseElectrons, black = [256, 256, 256, 256], white = 4095 } = sensor
  const random = seededRandom(seed ?? 0)
  const range = white - Math.max(...black)
  const out = new Uint16Array(width * height)
  for (let y = 0; y < height; y++)
    for (let x = 0; x < width; x++) {
      const phase = ((y & 1) << 1) | (x & 1)
      const mean = Math.max(0, light(x, y, phase)) * fullWellElectrons
      const electrons = seed === null ? mean : random.poisson(mean) + readNoiseElectrons * random.normal()
      const code = black[phase]! + (electrons / fullWellElectrons) * range
      out[y * width + x] = Math.min(Math.max(Math.round(code), 0), white)
    }
  return out
}

export interface MadeFrame {
  readonly levels: FrameLevels
  readonly light: Float32Array
  readonly columns: number
  readonly rows: number
}

/** Puts samples into memory and measures them. */
export function measured(
  samples: Uint16Array,
  width: number,
  height: number,
  over: Partial<LevelFrame> & {
    readonly kind?: 'plain' | 'simd'
    readonly gimbalRoll?: number | null
    readonly orientation?: 1 | 2 | 3 | 4 | 5 | 6 | 7 | 8
  } = {},
): MadeFrame {
  const bytes = 2 * samples.length + 4 * lightGrid(width, height).cells + 4096
  const { memory, plain, simd } = bothKernels(SCRATCH_BYTES + bytes + 65536)
  const context: TaskContext = {
    kernels: over.kind === 'plain' ? plain : simd,
    memory,
    scratch: 1024,
    scratchBytes: SCRATCH_BYTES,
  }
  const at = 1024 + SCRATCH_BYTES
  memory.u16(at, samples.length).set(samples)
  const light = at + Math.ceil(samples.length / 32) * 64 + 64
  const black = over.black ?? ([256, 256, 256, 256] as const)
  const white = over.white ?? 4095
  const frame: LevelFrame = {
    at,
    width,
    height,
    cfa: over.cfa ?? [0, 1, 1, 2],
    black,
    white,
    range: white - Math.max(...black),
    profile: over.profile ?? null,
  }
  const levels = frameLevels(context, {
    frame,
    orientation: over.orientation ?? 1,
    gimbalRoll: over.gimbalRoll ?? null,
    light,
  })
  const { columns, rows } = lightGrid(width, height)
  return { levels, light: memory.f32(light, columns * rows).slice(), columns, rows }
}

/** Blurred houses, a slope of light and rough ground: what a lens of about 1 px blur leaves of a town at dusk. */
export function madeTown(width: number, height: number, seed: number): Light {
  const random = seededRandom(seed)
  const houses = Array.from({ length: 60 }, () => ({
    x: random.uniform() * width,
    y: random.uniform() * height,
    w: 20 + random.uniform() * 120,
    h: 20 + random.uniform() * 90,
    light: 0.7 * random.uniform() ** 3,
  }))
  const soft = (d: number) => 1 / (1 + Math.exp(-d / 0.8))
  const canvas = new Float64Array(width * height)
  for (let y = 0; y < height; y++)
    for (let x = 0; x < width; x++) {
      let v = 0.001 + 0.12 * (1 - y / height) ** 2
      for (const h of houses) {
        if (Math.abs(x - h.x - h.w / 2) > h.w / 2 + 20 || Math.abs(y - h.y - h.h / 2) > h.h / 2 + 20) continue
        v += (h.light - v) * soft(x - h.x) * soft(h.x + h.w - x) * soft(y - h.y) * soft(h.y + h.h - y)
      }
      // Rough ground in the lower third: texture of 20 % contrast, waves of about 10 px.
      if (y > 0.66 * height) v *= 1 + 0.2 * Math.sin(0.6 * x + 0.2 * y) * Math.sin(0.55 * y - 0.2 * x)
      canvas[y * width + x] = v
    }
  // Red, green and blue see unlike shares of the light.
  const share = [0.55, 1, 1, 0.7]
  return (x, y, phase) => canvas[y * width + x]! * share[phase]!
}
