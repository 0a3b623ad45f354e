import { type Attitude, type DngPacking, writeDng } from '#core/formats'
import type { Address, Crew } from '#core/kernels'
import { lantern, lanternColour, noiseOf, type Sensor } from './camera.ts'
import { exposeFrame } from './expose.ts'
import { type Master, masterBytes, renderMaster } from './master.ts'
import { type Motion, reachOf } from './motion.ts'
import { packMosaic } from './pack.ts'
import { previewOf } from './preview.ts'
import type { SceneRequest } from './scene.ts'
import { truthHalves } from './truth.ts'

/** One frame as it is to be taken. */
export interface FramePlan {
  /** The exposure time that the file states. */
  readonly statedSeconds: number
  /** Light on the sensor over the reference frame's: true time × scene light. */
  readonly ratio: number
  readonly motion: Motion
  readonly camera: string
  readonly subSecond: number
  readonly attitude?: Attitude
}

export interface BracketPlan {
  readonly scene: SceneRequest
  readonly width: number
  readonly height: number
  /** The lens's Gaussian blur; 0 only for scenes that are smooth by themselves. Default 1. */
  readonly blurPixels?: number
  readonly seed: number
  readonly frames: readonly FramePlan[]
  readonly sensor?: Sensor
  readonly packing?: DngPacking
  readonly littleEndian?: boolean
  readonly offsetMinutes?: number | null
}

export interface SimulatedFrame {
  readonly plan: FramePlan
  /** width × height stored values, a copy. */
  readonly mosaic: Uint16Array
  readonly dng: Uint8Array
}

export interface TakenFrame {
  readonly mosaic: Address
  readonly dng: Uint8Array
}

export interface SimulatedBracket {
  readonly frames: readonly SimulatedFrame[]
  /** Noiseless linear sRGB of the reference frame, 1.0 = its saturation: three planes (R, G, B) of width × height halves. */
  readonly radiance: Uint16Array
}

export const LOSSLESS_TILES: DngPacking = { kind: 'lossless-jpeg', tile: 256 }

/** Margin that all frames of a plan need, with the interpolator's taps. */
export const marginOf = (plan: BracketPlan) =>
  Math.max(...plan.frames.map((f) => reachOf(f.motion, plan.width, plan.height)), 0) + 8

/** Shared memory that a bracket takes while it is made. */
export const bracketBytes = (plan: BracketPlan): number =>
  masterBytes(plan.width, plan.height, marginOf(plan)) + plan.width * plan.height * 12 + 4_000_000

export const renderBracketMaster = (crew: Crew, plan: BracketPlan): Promise<Master> =>
  renderMaster(crew, plan.scene, {
    width: plan.width,
    height: plan.height,
    margin: marginOf(plan),
    blurPixels: plan.blurPixels ?? 1,
  })

/** Frame `index` of a plan: its mosaic in the crew's memory above the caller's mark, and its file. */
export async function takeFrame(crew: Crew, master: Master, plan: BracketPlan, index: number): Promise<TakenFrame> {
  const frame = plan.frames[index]!
  const sensor = plan.sensor ?? lantern.sensor
  const { width, height } = plan
  const mosaic = await exposeFrame(crew, master, sensor, {
    ratio: frame.ratio,
    motion: frame.motion,
    seed: plan.seed * 64 + index,
  })
  const thumbnail = previewOf(crew.arena, mosaic, sensor, { width, height, longSide: 160 })
  const packing = plan.packing ?? LOSSLESS_TILES
  const littleEndian = plan.littleEndian ?? true
  const { bitsPerSample } = sensor
  const segments = await packMosaic(crew, { mosaic, width, height, bitsPerSample, littleEndian, packing })
  const dng = writeDng({
    width,
    height,
    mosaic: crew.arena.u16(mosaic, width * height),
    bitsPerSample,
    cfa: sensor.cfa,
    packing,
    segments,
    littleEndian,
    black: { repeatRows: 2, repeatColumns: 2, values: sensor.black },
    white: sensor.white,
    exposureSeconds: frame.statedSeconds,
    iso: lantern.iso,
    fNumber: lantern.fNumber,
    focalLengthMillimetres: lantern.focalLengthMillimetres,
    takenAt: { camera: frame.camera, subSecond: frame.subSecond, offsetMinutes: plan.offsetMinutes ?? null },
    make: lantern.make,
    model: lantern.model,
    noise: [noiseOf(sensor)],
    colour: lanternColour,
    ...(frame.attitude ? { attitude: frame.attitude } : {}),
    thumbnail,
  })
  return { mosaic, dng }
}

/** A whole bracket with its truth, for pictures that are small enough to hold: everything is copied out of the crew's memory. */
export async function simulateBracket(crew: Crew, plan: BracketPlan): Promise<SimulatedBracket> {
  const start = crew.arena.mark()
  const master = await renderBracketMaster(crew, plan)
  const mark = crew.arena.mark()
  const frames: SimulatedFrame[] = []
  for (let i = 0; i < plan.frames.length; i++) {
    const { mosaic, dng } = await takeFrame(crew, master, plan, i)
    frames.push({ plan: plan.frames[i]!, mosaic: crew.arena.u16(mosaic, plan.width * plan.height).slice(), dng })
    crew.arena.release(mark)
  }
  const halves = await truthHalves(crew, master)
  const radiance = crew.arena.u16(halves, plan.width * plan.height * 3).slice()
  crew.arena.release(start)
  return { frames, radiance }
}
