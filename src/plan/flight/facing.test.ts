import { describe, expect, it } from 'vitest'
import { facingOf } from './facing.ts'

describe('what a viewpoint faces', () => {
  it('is the afterglow within 60° of the sun’s azimuth, across north as well, unless it looks down', () => {
    const facing = (headingDegrees: number, tiltDegrees = -10) => facingOf({ headingDegrees, tiltDegrees }, 340)
    expect([facing(340), facing(20), facing(280), facing(50), facing(160)]).toEqual([
      'afterglow',
      'afterglow',
      'afterglow',
      'away',
      'away',
    ])
    expect([facing(340, -60), facing(340, -59)]).toEqual(['down', 'afterglow'])
  })
})
