import { describe, expect, it } from 'vitest'
import { counterStep, fileCounter, nameParts } from './frame.ts'

describe('file names', () => {
  it('come apart into folder, base and extension, with either slash', () => {
    expect(nameParts('card/DCIM/IMG_0001.DNG')).toEqual({ folder: 'card/DCIM/', base: 'IMG_0001', extension: 'DNG' })
    expect(nameParts('card\\a.b.jpg')).toEqual({ folder: 'card\\', base: 'a.b', extension: 'jpg' })
    expect(nameParts('.hidden')).toEqual({ folder: '', base: '.hidden', extension: '' })
  })

  it('carry the counter as the last run of digits, unless it is too long to be one', () => {
    expect(fileCounter('IMG_20270209174103_0012_D.DNG')).toEqual({ value: 12, modulus: 10_000 })
    expect(fileCounter('20270209174103.jpg')).toBeNull()
    expect(fileCounter('weir.jpg')).toBeNull()
  })

  it('follow on over the rollover, which goes from 9999 to 0001', () => {
    const step = (a: string, b: string) => counterStep(fileCounter(a), fileCounter(b))
    expect(step('A_0041', 'A_0042')).toBe(1)
    expect(step('A_9999', 'A_0001')).toBe(1)
    expect(step('A_9999', 'A_0000')).toBe(1)
    expect(step('A_0001', 'A_9999')).toBe(-1)
    expect(step('A_0044', 'A_0042')).toBe(-2)
    expect(step('A_01', 'A_0002')).toBeNull()
  })
})
