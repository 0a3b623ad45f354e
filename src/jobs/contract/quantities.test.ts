import { describe, expect, it } from 'vitest'
import { shutter } from './quantities.ts'

describe('quantities in words', () => {
  it('show shutter times as photographers write them', () => {
    expect([1 / 60, 0.25, 1 / 3, 0.63, 2, null].map(shutter)).toEqual([
      '1/60 s',
      '1/4 s',
      '0.3 s',
      '0.6 s',
      '2 s',
      'unknown time',
    ])
  })
})
