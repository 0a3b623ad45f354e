import { describe, expect, it } from 'vitest'
import { bytes, daysLater, duration, frameName, lux, stops, towards } from './words.ts'

describe('figures as the page says them', () => {
  it('keep units, a true minus, and no digits that mean nothing', () => {
    expect([bytes(512), bytes(16_000_000), bytes(385e6)]).toEqual(['512 bytes', '16.0 MB', '385 MB'])
    expect([duration(0.2), duration(12.4), duration(200)]).toEqual(['1 s', '12 s', '3 min'])
    expect([lux(0.0123), lux(1234)]).toEqual(['0.012 lx', '1234 lx'])
    expect([stops(-1.25), stops(2)]).toEqual(['−1.3', '+2.0'])
    expect(frameName('originals/100MEDIA/DUSK_0003.DNG')).toBe('DUSK_0003')
  })

  it('step over months, leap days and years', () => {
    expect(daysLater('2028-02-28', 1)).toBe('2028-02-29')
    expect(daysLater('2027-01-01', -1)).toBe('2026-12-31')
  })

  it('name the eight directions from any angle', () => {
    expect([0, 44, 46, -90, 359].map(towards)).toEqual(['north', 'north-east', 'north-east', 'west', 'north'])
  })
})
