import { describe, expect, it } from 'vitest'
import { madeCard } from './card.fixture.ts'
import type { Frame } from './frame.ts'
import { captureStreams } from './order.ts'
import { climbMetres, moveMetres, pauseSeconds, turnDegrees } from './pace.ts'

const placed = (frames: readonly Frame[]) => captureStreams(frames).streams[0]!

describe('what lies between two frames', () => {
  it('counts a pause only beyond shutter, writing and the coarseness of the clock', () => {
    const pause = (seconds: number, subSeconds: boolean) => {
      const [a, b] = placed(madeCard([{ stops: 5 }, { stops: 0, pause: seconds }], { subSeconds }))
      return pauseSeconds(a!, b!)!
    }
    expect(pause(0.5, true)).toBe(0)
    expect(pause(11, true)).toBeCloseTo(10, 2)
    expect(pause(1.9, false)).toBe(0)
    expect(Math.abs(pause(11, false) - 9)).toBeLessThanOrEqual(1)
  })

  it('measures a turn the short way round', () => {
    const [a, b] = placed(
      madeCard([
        { stops: 0, yaw: 179.5 },
        { stops: 1, yaw: -179.8 },
      ]),
    )
    expect(turnDegrees(a!, b!)).toBeCloseTo(0.7, 6)
    expect(climbMetres(a!, b!)).toBe(0)
  })

  it('is unknown where the files do not say', () => {
    const [a, b] = placed(madeCard([{ stops: 0 }, { stops: 1 }], { timed: false, attitude: false }))
    expect([pauseSeconds(a!, b!), turnDegrees(a!, b!), climbMetres(a!, b!), moveMetres(a!, b!)]).toEqual([
      null,
      null,
      null,
      null,
    ])
  })

  // WGS84, one degree of longitude at the equator 111,319.49 m, of latitude 110,574.39 m (geodesic library, see bibliography).
  it('measures a way over ground to one per cent', () => {
    const at = (latitude: number, longitude: number) => {
      const [frame] = madeCard([{ stops: 0 }])
      return {
        ...frame!,
        file: `${latitude},${longitude}`,
        facts: { ...frame!.facts, position: { latitude, longitude, altitudeMetres: null } },
      }
    }
    const way = (a: Frame, b: Frame) => {
      const [x, y] = placed([a, b])
      return moveMetres(x!, y!)!
    }
    expect(Math.abs(way(at(0, 0), at(0, 0.001)) / 111.319 - 1)).toBeLessThan(0.01)
    expect(Math.abs(way(at(0, 0), at(0.001, 0)) / 110.574 - 1)).toBeLessThan(0.01)
    expect(way(at(10, 179.9999), at(10, -179.9999))).toBeLessThan(25)
  })
})
