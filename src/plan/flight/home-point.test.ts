import { describe, expect, it } from 'vitest'
import { lock } from './flight.fixture.ts'
import { placeAt } from './geodesic.ts'
import { checkHomePoint } from './home-point.ts'

describe('the home point', () => {
  it('is at take-off within the accuracy of a fix, and away beyond it', () => {
    expect(checkHomePoint(lock, lock)).toMatchObject({ distanceMetres: 0, found: 'at-take-off', lit: null })
    expect(checkHomePoint(placeAt(lock, 90, 4.9), lock, true)).toMatchObject({ found: 'at-take-off', lit: true })
    const away = checkHomePoint(placeAt(lock, 90, 60), lock, false)
    expect(away).toMatchObject({ found: 'away-from-take-off', lit: false, accuracyMetres: 5 })
    expect(away.distanceMetres).toBeCloseTo(60, 6)
    expect(away.azimuthDegrees).toBeCloseTo(90, 6)
    expect(checkHomePoint(placeAt(lock, 90, 60), lock, null, 100).found).toBe('at-take-off')
  })
})
