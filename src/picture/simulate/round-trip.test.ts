import { describe, expect, it } from 'vitest'
import type { DngPacking } from '#core/formats'
import { floatFromHalf } from '#core/kernels'
import { decodeRawBytes, describeRaw, rawTasks } from '#picture/raw'
import { testCrew } from '../../../test/kernels.ts'
import { type BracketPlan, lantern, lanternColour, lanternMatrices, simulateBracket, simulateTasks } from './index.ts'

const attitude = {
  relativeHeightMetres: 52.4,
  gimbalPitch: -15,
  gimbalYaw: 2.3,
  gimbalRoll: 0,
  flightYaw: 2.1,
  flightPitch: -1.5,
  flightRoll: 0.4,
  speedNorth: 0.1,
  speedEast: -0.1,
  speedDown: 0,
}

const plan = (packing: DngPacking, littleEndian: boolean): BracketPlan => ({
  scene: { kind: 'waves', seed: 2 },
  width: 150,
  height: 110,
  seed: 8,
  sensor: { ...lantern.sensor, black: [254, 256, 257, 255] },
  packing,
  littleEndian,
  offsetMinutes: 60,
  frames: [
    {
      statedSeconds: 1 / 60,
      ratio: 1,
      motion: { x: 0, y: 0, rotationDegrees: 0 },
      camera: '2027-02-09T17:46:04',
      subSecond: 0.25,
      attitude,
    },
  ],
})

describe('a simulated file read back', () => {
  const packings: readonly (readonly [string, string, DngPacking])[] = [
    ['words', 'little-endian', { kind: 'words' }],
    ['words', 'big-endian', { kind: 'words' }],
    ['packed bits', 'little-endian', { kind: 'packed' }],
    ['packed bits', 'big-endian', { kind: 'packed' }],
    ['lossless JPEG', 'little-endian', { kind: 'lossless-jpeg', tile: 64 }],
    ['lossless JPEG, predictor 6', 'big-endian', { kind: 'lossless-jpeg', tile: 128, predictor: 6 }],
    ['deflate', 'little-endian', { kind: 'deflate', tile: 64 }],
    ['deflate', 'big-endian', { kind: 'deflate', tile: 64 }],
  ]

  it.each(packings)('%s, %s: every sample and every fact is what was taken', async (_, order, packing) => {
    const crew = testCrew({ ...simulateTasks, ...rawTasks }, 32 * 1024 * 1024)
    const bracket = await simulateBracket(crew, plan(packing, order === 'little-endian'))
    const { dng, mosaic } = bracket.frames[0]!
    const raw = describeRaw(dng)
    expect(raw).toMatchObject({
      width: 150,
      height: 110,
      cfa: [0, 1, 1, 2],
      littleEndian: order === 'little-endian',
      white: [4095],
      black: { repeatRows: 2, repeatColumns: 2, values: [254, 256, 257, 255] },
      activeArea: { x: 0, y: 0, width: 150, height: 110 },
      crop: { x: 0, y: 0, width: 150, height: 110 },
      orientation: 1,
      exposureSeconds: 1 / 60,
      iso: 100,
      fNumber: 1.8,
      focalLengthMillimetres: 6.72,
      make: 'Weirside',
      model: 'Lantern 12',
      takenAt: { camera: '2027-02-09T17:46:04', subSecond: 0.25, offsetMinutes: 60, utc: '2027-02-09T16:46:04Z' },
      attitude,
    })
    expect(raw.noise![0]).toEqual({ scale: 1 / 6000, offset: (1.8 / 6000) ** 2 })
    expect(raw.colour.asShotNeutral).toEqual(lanternColour.asShotNeutral)
    const at = crew.arena.alloc(150 * 110 * 2)
    await decodeRawBytes(crew, raw, dng, at)
    expect(crew.arena.u16(at, 150 * 110)).toEqual(mosaic)
  })

  it('raw → levels → camera chain gives the truth back within the noise, without bias', async () => {
    const crew = testCrew(simulateTasks, 32 * 1024 * 1024)
    const { frames, radiance } = await simulateBracket(crew, plan({ kind: 'words' }, true))
    const { mosaic } = frames[0]!
    const m = lanternMatrices().toLinearSrgb
    // Means over 2×2 blocks of a smooth scene, so that the mosaic needs no demosaicing.
    let sum = 0
    let squares = 0
    let count = 0
    for (let y = 0; y < 110; y += 2) {
      for (let x = 0; x < 150; x += 2) {
        const at = (i: number, j: number) => y * 150 + j * 150 + x + i
        const linear = (i: number, j: number) => (mosaic[at(i, j)]! - [254, 256, 257, 255][2 * j + i]!) / (4095 - 257)
        const rgb = [linear(0, 0), (linear(1, 0) + linear(0, 1)) / 2, linear(1, 1)]
        const green = m[3] * rgb[0]! + m[4] * rgb[1]! + m[5] * rgb[2]!
        let truth = 0
        for (let k = 0; k < 4; k++) truth += floatFromHalf(radiance[150 * 110 + at(k & 1, k >> 1)]!) / 4
        sum += green - truth
        squares += (green - truth) ** 2
        count++
      }
    }
    const mean = sum / count
    const spread = Math.sqrt(squares / count)
    console.log(`mean ${mean.toExponential(2)}, spread ${spread.toExponential(2)} of saturation`)
    expect(Math.abs(mean)).toBeLessThan((4 * spread) / Math.sqrt(count))
    expect(spread).toBeLessThan(0.02)
  })
})
