import { describe, expect, it } from 'vitest'
import { memoryOver } from '#core/kernels'
import { measureLamp } from './lamp.ts'
import { lightOf } from './light.ts'
import { madeNight, SENSOR, straight } from './smear.fixture.ts'

const SIDE = 80
/** One lamp of `light` electrons in the middle of a dark picture. */
function one(light: number, change: (samples: Uint16Array) => void = () => {}) {
  const memory = memoryOver(new ArrayBuffer(SIDE * SIDE * 2))
  const samples = memory.u16(0, SIDE * SIDE)
  const empty = { width: SIDE, height: SIDE, seed: 2, path: straight(0, 0), lensSigma: 1, cfa: null, lamps: 0 }
  samples.set(madeNight(empty))
  const gain = (SENSOR.white - SENSOR.black) / SENSOR.fullWell
  for (let y = 0; y < SIDE; y++)
    for (let x = 0; x < SIDE; x++) {
      const g = Math.exp(-((x - 40.3) ** 2 + (y - 39.8) ** 2) / 2.2) / (2.2 * Math.PI)
      samples[y * SIDE + x] = Math.min(SENSOR.white, samples[y * SIDE + x]! + Math.round(gain * light * g))
    }
  change(samples)
  const b = SENSOR.black
  return lightOf(memory, { at: 0, width: SIDE, height: SIDE, cfa: null, black: [b, b, b, b], white: SENSOR.white })
}

describe('one lamp', () => {
  it('is found in place within 0.05 px and in size within 5 %', () => {
    const lamp = measureLamp(one(20_000), { x: 41, y: 39 }, 6)
    if (typeof lamp === 'string') throw new Error(lamp)
    expect(Math.hypot(lamp.x - 40.3, lamp.y - 39.8)).toBeLessThan(0.05)
    expect(Math.abs(lamp.size / 1.1 - 1)).toBeLessThan(0.05)
  })

  it.each([
    ['saturated', one(80_000), { x: 40, y: 40 }],
    ['faint', one(20), { x: 40, y: 40 }],
    ['edge', one(20_000), { x: 5, y: 40 }],
    ['crowded', one(20_000, (s) => s.fill(1500, 32 * SIDE, 33 * SIDE)), { x: 40, y: 40 }],
    ['hot-pixel', one(0, (s) => s.fill(3000, 40 * SIDE + 40, 40 * SIDE + 41)), { x: 40, y: 40 }],
  ] as const)('is refused when %s', (reason, light, at) => {
    expect(measureLamp(light, at, 6)).toBe(reason)
  })
})
