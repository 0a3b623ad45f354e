import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { copyNames, numberedName, sameName } from './copy-names.ts'

const taken = (...names: string[]) => {
  const set = new Set(names.map(sameName))
  return (name: string) => Promise.resolve(set.has(sameName(name)))
}
const namesFor = async (paths: string[], ...inTheWay: string[]) =>
  Object.fromEntries(await copyNames(paths, taken(...inTheWay)))

describe('names of copies', () => {
  it('are the paths on the card where nothing is in the way', async () => {
    const paths = ['DCIM/100/DUSK_0001.DNG', 'DCIM/101/DUSK_0001.DNG', 'a', '.hidden', 'b.c/d']
    expect(await namesFor(paths)).toEqual(Object.fromEntries(paths.map((p) => [p, p])))
  })

  it('keep a raw, its companion and its sidecar under one base name when one of the three is taken', async () => {
    expect(await namesFor(['1/D.DNG', '1/D.JPG', '1/d.xmp', '1/E.DNG'], '1/d.jpg', '1/D-2.DNG')).toEqual({
      '1/D.DNG': '1/D-3.DNG',
      '1/D.JPG': '1/D-3.JPG',
      '1/d.xmp': '1/d-3.xmp',
      '1/E.DNG': '1/E.DNG',
    })
  })

  it('keep apart what differs in letter case or composition only', async () => {
    expect(await namesFor(['a.jpg', 'A.JPG', 'é.jpg', 'e\u0301.jpg'])).toEqual({
      'a.jpg': 'a.jpg',
      'A.JPG': 'A-2.JPG',
      'é.jpg': 'é.jpg',
      'e\u0301.jpg': 'e\u0301-2.jpg',
    })
  })

  it('do not take by number what another file of the card is called', async () => {
    expect(await namesFor(['D.DNG', 'D-2.DNG'], 'D.DNG')).toEqual({ 'D.DNG': 'D-3.DNG', 'D-2.DNG': 'D-2.DNG' })
  })

  it('put the number before the extension, and behind what has none', () => {
    expect(['1.0/D', '.hidden', 'a.b.c', 'x.'].map((p) => numberedName(p, 2))).toEqual([
      '1.0/D-2',
      '.hidden-2',
      'a.b-2.c',
      'x-2.',
    ])
  })

  it('never give one name twice or a taken one, and always the same to the same card', async () => {
    const name = fc.stringMatching(/^[abA](-[23])?(\.[xX]|\.y)?$/)
    const path = fc.oneof(
      name,
      name.map((n) => `d/${n}`),
    )
    let worst = 0
    await fc.assert(
      fc.asyncProperty(fc.uniqueArray(path), fc.uniqueArray(path), async (paths, inTheWay) => {
        const names = await copyNames(paths, taken(...inTheWay))
        const given = [...names.values()].map(sameName)
        expect(names.size).toBe(paths.length)
        expect(new Set(given).size).toBe(given.length)
        for (const n of given) expect(inTheWay.map(sameName)).not.toContain(n)
        expect(await copyNames(paths, taken(...inTheWay))).toEqual(names)
        worst = Math.max(worst, [...names].filter(([a, b]) => a !== b).length)
      }),
    )
    console.log(`most renamed in one case: ${worst}`)
    expect(worst).toBeGreaterThan(2)
  })
})
