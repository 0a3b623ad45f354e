import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { allFinite, lock } from './flight.fixture.ts'
import { wayBetween } from './geodesic.ts'
import { type ReconPhoto, readRecon } from './recon.ts'

const photo = (file: string, change: Partial<ReconPhoto> = {}): ReconPhoto => ({
  file,
  position: lock,
  relativeHeightMetres: 40,
  gimbalYaw: -90,
  gimbalPitch: 0,
  takenAt: '2027-02-09T14:05:00Z',
  ...change,
})

describe('photographs of a recon flight', () => {
  it('are viewpoints: place, height, heading and tilt as the file says', () => {
    const { viewpoints, obstacles } = readRecon([photo('recon/0012.DNG', { gimbalPitch: -22.5 })])
    expect(obstacles).toEqual([])
    expect(viewpoints).toEqual([
      {
        name: '0012',
        file: 'recon/0012.DNG',
        takenAt: '2027-02-09T14:05:00Z',
        position: lock,
        heightMetres: 40,
        headingDegrees: 270,
        tiltDegrees: -22.5,
      },
    ])
  })

  it('are obstacles when the name says so: level with the top, as high as the aircraft', () => {
    const [tree] = readRecon([photo('obstacle-lime-tree.jpg')]).obstacles
    expect(tree).toMatchObject({ name: 'lime tree', heightMetres: 40, position: null, radiusMetres: 0 })
    expect(tree!.errorMetres).toBeCloseTo(2 + 50 * Math.tan((3 * Math.PI) / 180), 9)
  })

  it('with a distance stand where they look, height by the pitch, by hand', () => {
    const [mast] = readRecon([photo('Obstacle_mast_35m.JPG', { gimbalPitch: -10 })]).obstacles
    expect(mast!.heightMetres).toBeCloseTo(40 - 35 * Math.tan((10 * Math.PI) / 180), 9)
    const way = wayBetween(lock, mast!.position!)
    expect(way.distanceMetres).toBeCloseTo(35, 6)
    expect(way.azimuthDegrees).toBeCloseTo(270, 6)
    expect(mast!.radiusMetres).toBeCloseTo(3.5, 9)
    expect(mast!.errorMetres).toBeGreaterThan(2)
  })

  it('follow the photographer’s mark before the file’s name', () => {
    const marks = [{ file: '7.jpg', name: 'mill chimney', distanceMetres: 20, radiusMetres: 4 }]
    const { obstacles, viewpoints } = readRecon([photo('7.jpg'), photo('8.jpg')], marks)
    expect(obstacles[0]).toMatchObject({ name: 'mill chimney', radiusMetres: 6 })
    expect(viewpoints).toHaveLength(1)
  })

  it('are left out with the reason when a fact is missing', () => {
    const { leftOut } = readRecon([
      photo('a.jpg', { relativeHeightMetres: null }),
      photo('b.jpg', { position: null }),
      photo('c.jpg', { gimbalYaw: null }),
      photo('obstacle-d.jpg', { gimbalPitch: -12 }),
      photo('obstacle-e-30m.jpg', { gimbalPitch: -60 }),
    ])
    expect(leftOut.map((l) => [l.what, l.reason])).toEqual([
      ['a.jpg', 'recon-height-unknown'],
      ['b.jpg', 'recon-position-unknown'],
      ['c.jpg', 'recon-direction-unknown'],
      ['obstacle-d.jpg', 'recon-not-level'],
      ['obstacle-e-30m.jpg', 'recon-not-level'],
    ])
  })

  it('may say anything: every one ends up in one list, and no number is NaN', () => {
    const wild = fc.option(fc.oneof(fc.double(), fc.double({ min: -100, max: 100 })))
    const any = fc.record({
      file: fc.oneof(
        fc.string(),
        fc.constantFrom('obstacle-x.jpg', 'obstacle-y-12m.jpg', 'obstacle.jpg', 'obstacle-9m'),
      ),
      position: fc.option(fc.record({ latitude: fc.double(), longitude: fc.double({ min: -180, max: 180 }) })),
      relativeHeightMetres: wild,
      gimbalYaw: wild,
      gimbalPitch: wild,
      takenAt: fc.constant(null),
    })
    fc.assert(
      fc.property(fc.array(any, { maxLength: 6 }), (photos) => {
        const { viewpoints, obstacles, leftOut } = readRecon(photos)
        expect(viewpoints.length + obstacles.length + leftOut.length).toBe(photos.length)
        expect(allFinite(viewpoints) && allFinite(obstacles) && allFinite(leftOut)).toBe(true)
      }),
      { numRuns: 500 },
    )
  })
})
