import { describe, expect, it } from 'vitest'
import type { OutingState } from '#jobs/contract'
import { bracketsToMerge, doneScreens, nextScreen } from './next-step.ts'

const empty = { originals: 0, outing: null, plan: null, group: null, merged: [], prints: [] } as unknown as OutingState
const state = (part: object) => ({ ...empty, ...part }) as OutingState
const group = { brackets: [{ id: '0001' }, { id: '0002' }] }
const merged = (id: string, stale = false) => ({ id, stale })

describe('where a night goes on', () => {
  it('is the first question without an answer', () => {
    expect(nextScreen(empty)).toBe('light')
    expect(nextScreen(state({ outing: {}, plan: {} }))).toBe('flight')
    expect(nextScreen(state({ originals: 9 }))).toBe('frames')
    expect(nextScreen(state({ originals: 9, group }))).toBe('frames')
    expect(nextScreen(state({ originals: 9, group, merged: [merged('0001')] }))).toBe('merge')
    expect(nextScreen(state({ originals: 9, group, merged: [merged('0001'), merged('0002')] }))).toBe('print')
  })

  it('merges what has no radiance image, or one of other frames', () => {
    expect(bracketsToMerge(state({ group, merged: [merged('0001'), merged('0002', true)] }))).toEqual(['0002'])
    expect(bracketsToMerge(state({ group: null }))).toEqual([])
  })

  it('calls a stop done only when nothing of it is open', () => {
    expect([...doneScreens(state({ group, merged: [merged('0001')] }))]).toEqual(['frames'])
    expect([...doneScreens(state({ group, merged: [merged('0001'), merged('0002')], prints: [{}] }))]).toEqual([
      'frames',
      'merge',
      'print',
    ])
  })
})
