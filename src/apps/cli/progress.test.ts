import { describe, expect, it } from 'vitest'
import { progressReporter } from './progress.ts'

function reported(isTTY: boolean) {
  let text = ''
  let clock = 0
  const reporter = progressReporter({ write: (t: string) => (text += t), isTTY, columns: 80 }, () => clock)
  return { reporter, at: (milliseconds: number) => (clock = milliseconds), text: () => text }
}

describe('progress', () => {
  it('on a terminal is a bar with the time left, taken away at the end', () => {
    const { reporter, at, text } = reported(true)
    reporter.report({ stage: 'Merging', done: 0, total: 4 })
    at(10_000)
    reporter.report({ stage: 'Merging', done: 1, total: 4 })
    expect(text()).toContain('Merging  [######..................] 1 of 4, 30 s left')
    reporter.clear()
    expect(text().endsWith('\r\x1b[K')).toBe(true)
  })

  it('elsewhere is one plain line a stage, and one every few seconds of a long one', () => {
    const { reporter, at, text } = reported(false)
    for (let i = 0; i <= 100; i++) {
      at(i * 120)
      reporter.report({ stage: 'Reading frames', done: i, total: 100 })
    }
    reporter.report({ stage: 'Merging', done: 0, total: 3 })
    expect(text()).toBe('Reading frames (100)\nReading frames: 42 of 100\nReading frames: 84 of 100\nMerging (3)\n')
  })

  it('never runs over the width of the terminal', () => {
    const { reporter, text } = reported(true)
    reporter.report({
      stage: 'A stage with a very long name that says far too much about what it does',
      done: 1,
      total: 2,
    })
    expect(text().replaceAll('\r', '').replaceAll('\x1b[K', '').length).toBeLessThan(80)
  })
})
