import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { instantOf, localIso, noonOf, offsetMinutes, parseDate, utcIso } from './clock.ts'

describe('clocks', () => {
  // Changes of clocks by the tz database; instants in UTC.
  it.each([
    ['Europe/London', '2026-03-29T01:00:00Z', 0, 60],
    ['America/New_York', '2026-11-01T06:00:00Z', -240, -300],
    ['Australia/Sydney', '2026-04-04T16:00:00Z', 660, 600],
    ['Australia/Sydney', '2026-10-03T16:00:00Z', 600, 660],
    ['Australia/Lord_Howe', '2026-04-04T15:00:00Z', 660, 630],
  ])('%s changes at %s', (zone, at, before, after) => {
    const instant = Date.parse(at)
    expect(offsetMinutes(instant - 1000, zone)).toBe(before)
    expect(offsetMinutes(instant, zone)).toBe(after)
  })

  it('know quarter hours and the far side of the date line', () => {
    expect(localIso(Date.parse('2026-01-15T11:45:30Z'), 'Asia/Kathmandu')).toBe('2026-01-15T17:30:30+05:45')
    expect(localIso(Date.parse('2026-08-12T04:40:15Z'), 'Pacific/Kiritimati')).toBe('2026-08-12T18:40:15+14:00')
  })

  it('find an hour that a change skips, and the first of one that comes twice', () => {
    // 01:30 on 29 March does not exist in London; 01:30 on 1 November comes twice in New York.
    expect(utcIso(instantOf(parseDate('2026-03-29'), 1, 30, 'Europe/London'))).toBe('2026-03-29T01:30:00Z')
    expect(utcIso(instantOf(parseDate('2026-11-01'), 1, 30, 'America/New_York'))).toBe('2026-11-01T05:30:00Z')
  })

  it('refuse days that do not exist, years nobody can plan, and zones nobody knows', () => {
    for (const text of ['2026-02-29', '2026-13-01', '26-01-01', '2026-1-1', '', '2026-01-01T00:00'])
      expect(() => parseDate(text), text).toThrowError(/date-form/)
    for (const text of ['1899-12-31', '2101-01-01', '9999-01-01'])
      expect(() => parseDate(text), text).toThrowError(/date-range/)
    expect(() => noonOf(parseDate('2026-01-01'), 'Mars/Olympus')).toThrowError(/unknown-zone/)
  })

  it('show noon at noon, in every zone and year', () => {
    const zones = [
      'Europe/London',
      'America/St_Johns',
      'Asia/Kathmandu',
      'Pacific/Kiritimati',
      'Australia/Lord_Howe',
      'UTC',
    ]
    fc.assert(
      fc.property(
        fc.constantFrom(...zones),
        fc.integer({ min: 1972, max: 2100 }),
        fc.integer({ min: 1, max: 12 }),
        fc.integer({ min: 1, max: 28 }),
        (zone, year, month, day) => {
          const noon = noonOf({ year, month, day }, zone)
          expect(localIso(noon, zone).slice(0, 19)).toBe(
            `${year}-${String(month).padStart(2, '0')}-${String(day).padStart(2, '0')}T12:00:00`,
          )
        },
      ),
    )
  })
})
