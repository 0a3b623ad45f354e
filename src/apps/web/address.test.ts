import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { readAddress, rootOf, screens, writeAddress } from './address.ts'

describe('an address of the page', () => {
  it('leads back to what it was made from, whatever stands in it', () => {
    const address = fc.record({
      outing: fc.string({ minLength: 1, unit: 'binary' }),
      screen: fc.constantFrom(...screens),
      params: fc.dictionary(fc.stringMatching(/^[a-z]{1,8}$/), fc.string({ minLength: 1 }), { noNullPrototype: true }),
    })
    fc.assert(
      fc.property(address, (given) => {
        const [path = '', search = ''] = writeAddress('/t0ken', given).split('?')
        expect(rootOf(path)).toBe('/t0ken')
        expect(readAddress(path, search)).toEqual(given)
      }),
    )
  })

  it('of an unknown screen is that of the light', () => {
    expect(readAddress('/t/o/demo/moonwalk', '')).toMatchObject({ outing: 'demo', screen: 'light' })
    expect(readAddress('/t/', '?x=1')).toEqual({ outing: null, screen: 'light', params: { x: '1' } })
  })
})
