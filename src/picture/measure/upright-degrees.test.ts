import { expect, it } from 'vitest'
import { type Orientation, storedPosition } from '#core/pixels'
import { uprightDegrees } from './upright-degrees.ts'

it('two pixels along a direction of the stored frame lie along the upright direction, in all eight orientations', () => {
  const [width, height] = [100, 80]
  for (const orientation of [1, 2, 3, 4, 5, 6, 7, 8] as Orientation[]) {
    // Two upright points and where they are stored (Exif 2.32, Orientation).
    const [ax, ay, bx, by] = [10, 20, 40, 60]
    const a = storedPosition(ax, ay, width, height, orientation)
    const b = storedPosition(bx, by, width, height, orientation)
    const stored = (Math.atan2(b[1] - a[1], b[0] - a[0]) * 180) / Math.PI
    const upright = (Math.atan2(by - ay, bx - ax) * 180) / Math.PI
    expect(uprightDegrees(((stored % 180) + 180) % 180, orientation)).toBeCloseTo(upright, 9)
  }
})
