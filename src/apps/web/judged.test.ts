import { describe, expect, it } from 'vitest'
import type { CheckDocument, GroupDocument } from '#jobs/contract'
import { ASSUMED_STOPS, judgedBrackets, spansOf, tallyOf } from './judged.ts'

const frame = (n: number, exposureSeconds: number) => ({
  file: `originals/F_${n}.DNG`,
  companion: null,
  exposureSeconds,
  fNumber: 1.8,
  iso: 100,
})
const bracket = (id: string, from: number) => ({
  id,
  frames: [frame(from, 1 / 8), frame(from + 1, 1 / 4)],
  reference: `originals/F_${from}.DNG`,
})
const group = {
  brackets: [bracket('0001', 1), bracket('0002', 3), bracket('0003', 5), bracket('0004', 7)],
  doubts: [{ brackets: ['0003'], question: 'one bracket?', evidence: '' }],
} as unknown as GroupDocument
const verdict = (id: string, from: number, given: string) => ({
  id,
  verdict: given,
  // As a job names them that was started somewhere else.
  frames: [`weir/originals/F_${from}.DNG`, `weir/originals/F_${from + 1}.DNG`],
  best: `weir/originals/F_${from}.DNG`,
  reasons: [],
  advice: [],
  scene: null,
})
const check = {
  frames: [],
  brackets: [verdict('0001', 1, 'keep'), verdict('0002', 3, 're-fly'), verdict('0004', 99, 'keep')],
} as unknown as CheckDocument

describe('brackets as the page lists them', () => {
  it('begin with what wants a decision: to re-fly, then doubts', () => {
    expect(judgedBrackets({ group, check }).map((j) => j.bracket.id)).toEqual(['0002', '0003', '0001', '0004'])
  })

  it('carry a verdict only for the very frames that it was given for', () => {
    expect(tallyOf(judgedBrackets({ group, check }))).toEqual({ keep: 1, doubtful: 0, refly: 1, unjudged: 2 })
  })

  it('show spans a stop apart for exposures a stop apart, until they are measured', () => {
    const { measured, drawing } = spansOf(judgedBrackets({ group, check: null })[1]!)
    expect(measured).toBe(false)
    const [first, second] = drawing.frames.map((f) => f.span!)
    expect(first!.highStops).toBeCloseTo(0, 9)
    expect(second!.highStops).toBeCloseTo(-1, 9)
    expect(first!.highStops - first!.lowStops).toBe(ASSUMED_STOPS)
  })
})
