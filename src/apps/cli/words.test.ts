import { describe, expect, it } from 'vitest'
import { bytes, cameraTime, count, duration, signed, stops } from './words.ts'

describe('numbers in words', () => {
  it('use a true minus sign, and none for zero', () => {
    expect([signed(-1.25, 1), signed(-0.01, 1), signed(3, 0)]).toEqual(['−1.3', '0.0', '3'])
    expect([stops(1), stops(0.7), stops(-2)]).toEqual(['1.0 stop', '0.7 stops', '−2.0 stops'])
  })

  it('count one and many', () => {
    expect([count(1, 'frame'), count(0, 'frame'), count(35, 'frame')]).toEqual(['1 frame', '0 frames', '35 frames'])
  })

  it('say waiting times and sizes without needless digits', () => {
    expect([duration(3.21), duration(48.4), duration(200)]).toEqual(['3.2 s', '48 s', '3 min 20 s'])
    expect([bytes(999), bytes(24_400_000), bytes(1_250_000_000)]).toEqual(['999 B', '24 MB', '1.3 GB'])
  })

  it('show the camera clock as it was set', () => {
    expect(cameraTime('2027-02-09T17:41:03')).toBe('9 Feb 2027, 17:41:03')
    expect(cameraTime(null)).toBe('no time')
  })
})
