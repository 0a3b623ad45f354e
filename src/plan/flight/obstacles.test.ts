import { describe, expect, it } from 'vitest'
import { lock, mast } from './flight.fixture.ts'
import { placeAt } from './geodesic.ts'
import { obstaclesBeside } from './obstacles.ts'

const far = placeAt(lock, 90, 500)

describe('obstacles beside a line', () => {
  it('count within the corridor and their own radius, with where they stand along the line', () => {
    const at200 = (north: number) => placeAt(placeAt(lock, 90, 200), 0, north)
    const [found] = obstaclesBeside(lock, far, [mast(40, at200(20))])
    // North at one end of a line is not quite north at the other: a millimetre here.
    expect(found!.alongMetres).toBeCloseTo(200, 2)
    expect(found!.besideMetres).toBeCloseTo(20, 2)
    expect(obstaclesBeside(lock, far, [mast(40, at200(26))])).toEqual([])
    expect(obstaclesBeside(lock, far, [mast(40, at200(26), 2)])[0]!.besideMetres).toBeCloseTo(24, 2)
    expect(obstaclesBeside(lock, far, [mast(40, at200(26))], 30)).toHaveLength(1)
  })

  it('count round both ends, and not beyond', () => {
    expect(obstaclesBeside(lock, far, [mast(40, placeAt(lock, 270, 24))])[0]!.alongMetres).toBe(0)
    expect(obstaclesBeside(lock, far, [mast(40, placeAt(lock, 270, 26))])).toEqual([])
    expect(obstaclesBeside(lock, far, [mast(40, placeAt(far, 90, 24))])[0]!.alongMetres).toBeCloseTo(500, 3)
    expect(obstaclesBeside(lock, lock, [mast(40, placeAt(lock, 10, 24))])).toHaveLength(1)
  })

  it('count everywhere when it is not known where they stand, and come in order', () => {
    const near = mast(10, placeAt(lock, 90, 100))
    const [unknown, first, second] = obstaclesBeside(lock, far, [
      mast(30, placeAt(lock, 90, 300)),
      near,
      mast(20, null),
    ])
    expect(unknown).toMatchObject({ alongMetres: null, besideMetres: null, topMetres: 20 })
    expect(first!.alongMetres).toBeLessThan(second!.alongMetres!)
  })

  it('work across the date line', () => {
    const west = { latitude: -16.5, longitude: 179.999 }
    const middle = placeAt(west, 90, 150)
    expect(middle.longitude).toBeLessThan(0)
    expect(obstaclesBeside(west, placeAt(west, 90, 300), [mast(40, middle)])[0]!.alongMetres).toBeCloseTo(150, 3)
  })

  it('refuse heights and radii that are none', () => {
    expect(() => obstaclesBeside(lock, far, [mast(Number.NaN, far)])).toThrow('obstacleHeightMetres')
    expect(() => obstaclesBeside(lock, far, [mast(10, far, -1)])).toThrow('obstacleRadiusMetres')
  })
})
