import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { bounded, FIT, levelFor, lookOf, lookText, moved, pixelAt, tilesFor, zoomedAt } from './viewer-geometry.ts'

const picture = fc.record({ width: fc.integer({ min: 16, max: 9000 }), height: fc.integer({ min: 16, max: 9000 }) })
const window = fc.record({ width: fc.integer({ min: 100, max: 3000 }), height: fc.integer({ min: 100, max: 2000 }) })
const share = fc.double({ min: 0, max: 1, noNaN: true })
const look = fc.record({ x: share, y: share, zoom: fc.double({ min: 0, max: 16, noNaN: true }) })

describe('what a viewer shows', () => {
  it('keeps the pixel under the hand where it is while it zooms, as far as the edges allow', () => {
    let worst = 0
    fc.assert(
      fc.property(
        picture,
        window,
        share,
        share,
        fc.double({ min: 1.1, max: 3, noNaN: true }),
        (p, w, sx, sy, factor) => {
          const start = bounded({ x: 0.5, y: 0.5, zoom: 4 }, p, w)
          const at = { x: sx * w.width, y: sy * w.height }
          const before = pixelAt(start, p, w, at)
          const next = zoomedAt(start, p, w, at, factor)
          // Where the picture does not fill the window it is centred instead.
          fc.pre(p.width * start.zoom >= w.width && p.height * start.zoom >= w.height)
          const after = pixelAt(next, p, w, at)
          worst = Math.max(worst, Math.abs(after.x - before.x), Math.abs(after.y - before.y))
        },
      ),
    )
    console.log(`worst drift of the held pixel: ${worst.toExponential(1)} pixels`)
    expect(worst).toBeLessThan(1e-6)
  })

  it('never shows a gap where the picture is larger than the window', () => {
    fc.assert(
      fc.property(picture, window, look, (p, w, l) => {
        const b = bounded(l, p, w)
        if (b.zoom === 0) return
        const start = pixelAt(b, p, w, { x: 0, y: 0 })
        const end = pixelAt(b, p, w, { x: w.width, y: w.height })
        if (p.width * b.zoom >= w.width) {
          expect(start.x).toBeGreaterThanOrEqual(-1e-6)
          expect(end.x).toBeLessThanOrEqual(p.width + 1e-6)
        }
      }),
    )
  })

  it('is covered by its tiles without gap or overlap', () => {
    fc.assert(
      fc.property(picture, window, look, (p, w, l) => {
        const b = bounded(l, p, w)
        for (const t of tilesFor(b, [p], w, 512, 0)) {
          expect(t.width).toBeGreaterThan(0)
          const right = tilesFor(b, [p], w, 512, 0).find((o) => o.row === t.row && o.column === t.column + 1)
          if (right) expect(Math.abs(right.left - (t.left + t.width))).toBeLessThan(1e-6 * p.width)
        }
      }),
      { numRuns: 50 },
    )
  })

  it('takes the level next above the screen: full size at 100 %, half size from 50 % down', () => {
    expect([2, 1, 0.99, 0.5, 0.49, 0.25, 0.1].map((z) => levelFor(z, 4))).toEqual([0, 0, 0, 1, 1, 2, 3])
  })

  it('comes back from its address, and from nonsense as the whole picture', () => {
    expect(lookOf(lookText({ x: 0.25, y: 0.75, zoom: 1 }) ?? '')).toEqual({ x: 0.25, y: 0.75, zoom: 1 })
    for (const odd of [undefined, '', 'a_b_c', '2_0_1', '0.5_0.5_99', '0.5_0.5']) expect(lookOf(odd)).toEqual(FIT)
    expect(moved(FIT, { width: 100, height: 100 }, { width: 100, height: 100 }, { x: 9, y: 9 })).toEqual(FIT)
  })
})
