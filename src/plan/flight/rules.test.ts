import { describe, expect, it } from 'vitest'
import { citedRules } from './rules.ts'

describe('the rules cited', () => {
  it('say where, from what source and as of when, and never that something is legal or safe', () => {
    expect(new Set(citedRules.map((r) => r.id)).size).toBe(citedRules.length)
    for (const rule of citedRules) {
      for (const text of Object.values(rule)) expect(text.length).toBeGreaterThan(3)
      expect(rule.what).not.toMatch(/\b(legal|safe|allowed|permitted)\b/i)
      expect(rule.asOf).toMatch(/memory|20\d\d/)
    }
  })

  it('carry the figures of 14 CFR 107.29: 3 statute miles, 30 minutes, not put out', () => {
    const what = (id: string) => citedRules.find((r) => r.id === id)!.what
    expect(what('us-night')).toMatch(/3 statute miles \(4\.8 km\)/)
    expect(3 * 1.609344).toBeCloseTo(4.8, 1)
    expect(what('us-night')).toMatch(/dimmed for safety, not put out/)
    expect(what('us-twilight')).toMatch(/30 minutes after official sunset/)
    expect(what('eu-light')).toMatch(/green flashing light/)
  })
})
