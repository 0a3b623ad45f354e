import { describe, expect, it } from 'vitest'
import { madeCard } from './card.fixture.ts'
import { clockAhead, steadyClock } from './clock-steps.ts'
import type { Frame } from './frame.ts'
import { captureStreams } from './order.ts'

const at = (frame: Frame, camera: string, more: Partial<Frame> = {}): Frame => ({
  ...frame,
  ...more,
  facts: { ...frame.facts, takenAt: { ...frame.facts.takenAt, camera } },
})
const times = (list: readonly string[], names = (i: number) => `A_${String(i + 1).padStart(4, '0')}.DNG`) => {
  const [model] = madeCard([{ stops: 0 }])
  return list.map((time, i) => at(model!, `2027-02-09T${time}`, { file: names(i) }))
}
const steps = (frames: readonly Frame[]) => captureStreams(frames).steps

describe('steps of the clock', () => {
  it('are seen where frames follow on by number and time goes back', () => {
    const set = steps(times(['17:00:00', '17:00:10', '16:00:20', '16:00:30']))
    expect(set).toEqual([{ before: 'A_0003.DNG', seconds: -3600, basis: 'quarter-hours' }])
  })

  it('are not made of names that never were in the order of time', () => {
    const names = ['17:05', '17:01', '17:04', '17:02', '17:03', '17:00', '17:06', '16:59'].map((t) => `${t}:00`)
    expect(steps(times(names))).toEqual([])
  })

  it('are not made of another folder, or of a number far away', () => {
    const list = ['17:00:00', '17:00:10', '16:00:20', '16:00:30']
    expect(steps(times(list, (i) => `${i < 2 ? 'A' : 'B'}/A_000${i + 1}.DNG`))).toEqual([])
    expect(steps(times(list, (i) => `A_0${i < 2 ? 0 : 7}0${i + 1}.DNG`))).toEqual([])
  })

  it('leave the pause before the first frame unknown where the clock was set by an odd amount', () => {
    const { streams } = captureStreams(times(['17:00:00', '17:00:10', '17:00:03', '17:00:30']))
    expect(streams[0]!.map((p) => p.gapUnknown)).toEqual([false, false, true, false])
  })

  it('leave times as they are that know no receiver, and frames without a time', () => {
    const [placed] = captureStreams(madeCard([{ stops: 0 }], { timed: false })).streams[0]!
    expect(clockAhead(placed!)).toBeNull()
    expect(steadyClock([placed!])).toEqual({ frames: [placed], steps: [] })
  })
})
