import { describe, expect, it } from 'vitest'
import { storedPosition } from '#core/pixels'
import { lantern, renderBracketMaster, simulateTasks, takeFrame } from '#picture/simulate'
import { testCrew } from '../../../test/kernels.ts'
import { type Light, madeSamples, measured } from './made-frame.fixture.ts'
import { tiltOf } from './tilt.ts'

const [width, height] = [1200, 900]
const RAD = Math.PI / 180
const sensor = { fullWellElectrons: 6000, readNoiseElectrons: 1.8 }
const soft = (d: number) => (d > 12 ? 1 : d < -12 ? 0 : 1 / (1 + Math.exp(-d / 0.9)))

/**
 * A street of upright walls seen by a pinhole camera of known pitch and roll (right side low is positive), from the geometry
 * alone: each pixel's ray is turned to the level frame, and walls are stripes of the bearing.
 */
function street(rollDegrees: number, pitchDegrees: number, focal = 750): Light {
  const [cr, sr] = [Math.cos(rollDegrees * RAD), Math.sin(rollDegrees * RAD)]
  const [cp, sp] = [Math.cos(pitchDegrees * RAD), Math.sin(pitchDegrees * RAD)]
  const walls = [-0.47, -0.4, -0.31, -0.2, -0.16, -0.04, 0.05, 0.13, 0.24, 0.28, 0.41, 0.52]
  return (x, y) => {
    const a = (x - (width - 1) / 2) / focal
    const b = (y - (height - 1) / 2) / focal
    // Right side low: the camera's right is level-right turned down.
    const right = a * cr - b * sr
    const down = a * sr + b * cr
    const ahead = cp + down * sp
    const fall = down * cp - sp
    // The tangent of the bearing is the same all the way down a wall's corner.
    const bearing = right / ahead
    let v = 0.03
    walls.forEach((w, k) => {
      v += (k & 1 ? -1 : 1) * 0.06 * soft((bearing - w) * focal)
    })
    // Eaves: the tops of the walls stand level in the world, not in the picture.
    return v * (fall > -0.12 ? 1 : 0.35) + 0.005
  }
}

/** Sea and sky: nothing but a horizon and waves. */
const sea =
  (rollDegrees: number): Light =>
  (x, y) => {
    const [cx, cy] = [x - (width - 1) / 2, y - (height - 1) / 2]
    const down = cx * Math.sin(rollDegrees * RAD) + cy * Math.cos(rollDegrees * RAD)
    return 0.12 - 0.09 * soft(down + 80) + (down > -60 ? 0.004 * Math.sin(0.11 * cx) * Math.sin(0.4 * cy) : 0)
  }

const tilt = (light: Light, seed = 1, over: Parameters<typeof measured>[3] = {}) =>
  measured(madeSamples(sensor, width, height, light, seed), width, height, over).levels.tilt

describe('tilt', () => {
  it('from verticals is known to 0.1°, for level cameras and for cameras that look down', () => {
    let worst = 0
    for (const pitch of [0, -10, -25])
      for (const roll of [-4, -0.4, 0.2, 2.5]) {
        const found = tilt(street(roll, pitch), 7)
        expect(found?.basis, `pitch ${pitch}, roll ${roll}`).toBe('verticals')
        worst = Math.max(worst, Math.abs(found!.degrees - roll))
        expect(found!.errorDegrees!).toBeLessThan(0.1)
      }
    console.log(`tilt from verticals: worst ${worst.toFixed(3)}°`)
    expect(worst).toBeLessThan(0.1)
  })

  it('from the horizon is known to 0.1°', () => {
    let worst = 0
    for (const roll of [-3, 0, 0.3]) {
      const found = tilt(sea(roll), 3)
      expect(found?.basis, `roll ${roll}`).toBe('horizon')
      worst = Math.max(worst, Math.abs(found!.degrees - roll))
    }
    console.log(`tilt from the horizon: worst ${worst.toFixed(3)}°`)
    expect(worst).toBeLessThan(0.1)
  })

  it('of the made river town follows the turn of its picture to 0.1°', async () => {
    const turns = [0, 0.5, -1.5]
    const plan = {
      scene: {
        kind: 'town' as const,
        view: {
          ...{ seed: 7, eastMetres: 20, northMetres: -60, heightMetres: 22 },
          ...{ yawDegrees: 8, pitchDegrees: -6, horizontalFieldDegrees: 38 },
        },
      },
      ...{ width: 1600, height: 1200, seed: 3 },
      frames: turns.map((rotationDegrees) => ({
        ...{ statedSeconds: 1, ratio: 4, motion: { x: 0, y: 0, rotationDegrees } },
        ...{ camera: '2026-11-20T17:00:00', subSecond: 0 },
      })),
    }
    const crew = testCrew(simulateTasks, 160e6)
    const master = await renderBracketMaster(crew, plan)
    const mark = crew.arena.mark()
    const found: number[] = []
    for (const [k] of turns.entries()) {
      const { mosaic } = await takeFrame(crew, master, plan, k)
      const samples = crew.arena.u16(mosaic, 1600 * 1200).slice()
      crew.arena.release(mark)
      const { tilt: own } = measured(samples, 1600, 1200, { black: lantern.sensor.black }).levels
      console.log(`town turned by ${turns[k]}°: ${JSON.stringify(own)}`)
      expect(own?.basis).toBe('verticals')
      found.push(own!.degrees)
    }
    // Content turned clockwise is a camera turned the other way; the town's walls are plumb and its camera level.
    turns.forEach((turn, k) => {
      expect(Math.abs(found[k]! + turn)).toBeLessThan(0.1)
    })
  })

  it('is the gimbal’s where the picture cannot tell, and nothing where the file is silent too', () => {
    const even: Light = (x, y) => 0.1 + 0.00002 * (x + y)
    expect(tilt(even, 1, { gimbalRoll: 0.3 })).toEqual({
      ...{ degrees: 0.3, basis: 'gimbal', errorDegrees: null, gimbalDegrees: 0.3 },
    })
    expect(tilt(even)).toBeNull()
    // Hung on its side.
    expect(tilt(even, 1, { gimbalRoll: -89.5 })?.degrees).toBeCloseTo(0.5, 9)
  })

  it('beside a gimbal that says level keeps what the picture says, and both are told', () => {
    const found = tilt(street(1.2, -5), 2, { gimbalRoll: 0 })!
    expect(found.basis).toBe('verticals')
    expect(found.gimbalDegrees).toBe(0)
    expect(Math.abs(found.degrees - 1.2)).toBeLessThan(0.1)
  })

  it('is that of the picture as shown, whichever way it is stored', () => {
    const upright = madeSamples(sensor, width, height, street(0.8, -5), 5)
    const pixels = Float32Array.from({ length: 300 * 225 }, (_, i) => {
      const [x, y] = [i % 300, Math.floor(i / 300)]
      let sum = 0
      for (let j = 0; j < 4; j++) for (let k = 0; k < 4; k++) sum += upright[(4 * y + j) * width + 4 * x + k]! - 256
      return Math.sqrt(Math.max(sum, 0) * 1.56)
    })
    for (const orientation of [1, 2, 3, 4, 5, 6, 7, 8] as const) {
      const [w, h] = orientation >= 5 ? [225, 300] : [300, 225]
      const picture = new Float32Array(w * h)
      for (let y = 0; y < 225; y++)
        for (let x = 0; x < 300; x++) {
          const [sx, sy] = storedPosition(x, y, w, h, orientation)
          picture[sy * w + sx] = pixels[y * 300 + x]!
        }
      const found = tiltOf({ pixels: picture, width: w, height: h, across: 1, down: w }, 23, orientation, null)
      expect(Math.abs(found!.degrees - 0.8), `orientation ${orientation}`).toBeLessThan(0.1)
    }
  })
})
