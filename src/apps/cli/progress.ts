import type { Progress } from '#jobs/contract'
import { duration } from './words.ts'

export interface ProgressTarget {
  write(text: string): unknown
  readonly isTTY?: boolean
  readonly columns?: number
}

const BAR = 24
const REDRAW_MILLISECONDS = 80
const LINE_MILLISECONDS = 5000

/** A bar with the time left on a terminal; elsewhere one plain line a stage, and one every few seconds of a long one. */
export function progressReporter(target: ProgressTarget, now: () => number = Date.now) {
  let stage = ''
  let startedAt = 0
  let shownAt = 0
  let barShown = false

  function bar({ done, total }: Progress): string {
    const share = total > 0 ? Math.min(1, done / total) : 0
    const filled = Math.round(share * BAR)
    const left = share > 0.05 && share < 1 ? `, ${duration(((now() - startedAt) / 1000) * (1 / share - 1))} left` : ''
    return `${stage}  [${'#'.repeat(filled)}${'.'.repeat(BAR - filled)}] ${done} of ${total}${left}`
  }

  function clear() {
    if (barShown) target.write('\r\x1b[K')
    barShown = false
  }

  return {
    report(event: Progress) {
      const fresh = event.stage !== stage
      if (fresh) {
        stage = event.stage
        startedAt = now()
      }
      const last = event.done >= event.total
      const due = now() - shownAt >= (target.isTTY ? REDRAW_MILLISECONDS : LINE_MILLISECONDS)
      if (!fresh && !due && !(last && target.isTTY)) return
      shownAt = now()
      if (target.isTTY) {
        target.write(`\r${bar(event).slice(0, (target.columns ?? 80) - 1)}\x1b[K`)
        barShown = true
      } else target.write(fresh ? `${stage} (${event.total})\n` : `${stage}: ${event.done} of ${event.total}\n`)
    },
    /** Takes the bar away, so that what follows stands on a line of its own. */
    clear,
  }
}
