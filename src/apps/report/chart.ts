/** What drawings share: scales, ticks, lines. */
export interface Box {
  readonly left: number
  readonly top: number
  readonly right: number
  readonly bottom: number
}

/** A straight scale from values to drawing units. */
export const scaleOf =
  (from: number, to: number, low: number, high: number) =>
  (value: number): number =>
    to === from ? low : low + ((value - from) / (to - from)) * (high - low)

/** Even levels inside the range. */
export function evTicks(low: number, high: number): number[] {
  const ticks: number[] = []
  for (let ev = Math.ceil(low / 2) * 2; ev < high; ev += 2) ticks.push(ev)
  return ticks
}

/** Steps of the clock that leave some six to ten ticks. */
const STEPS_MINUTES = [5, 10, 15, 30, 60, 120, 180]

/** Round times of the local clock inside the span. `points` are in order and at most some minutes apart. */
export function clockTicks(points: readonly { utc: string; local: string }[]): { utc: string; clock: string }[] {
  const first = points[0]
  const last = points.at(-1)
  if (!first || !last) return []
  const minutes = (Date.parse(last.utc) - Date.parse(first.utc)) / 60_000
  const step = STEPS_MINUTES.find((s) => minutes / s <= 10) ?? 240
  const ticks: { utc: string; clock: string }[] = []
  // From the zone's own clock at the start: round minutes of the day, counted on from there.
  const startMinute = Number(first.local.slice(11, 13)) * 60 + Number(first.local.slice(14, 16))
  const startSeconds = Number(first.local.slice(17, 19))
  for (let k = Math.ceil((startMinute + startSeconds / 60) / step) * step; k <= startMinute + minutes; k += step) {
    const utc = new Date(Date.parse(first.utc) + (k - startMinute) * 60_000 - startSeconds * 1000).toISOString()
    const ofDay = k % 1440
    const two = (v: number) => String(v).padStart(2, '0')
    ticks.push({ utc, clock: `${two(Math.floor(ofDay / 60))}:${two(ofDay % 60)}` })
  }
  return ticks
}

export function polyline<P>(
  name: string,
  points: readonly P[],
  place: (point: P) => readonly [number, number],
): string {
  const at = points.map((p) =>
    place(p)
      .map((v) => v.toFixed(1))
      .join(','),
  )
  return `<polyline class="${name}" points="${at.join(' ')}"/>`
}

/** Rows for words centred at `at`, in order, so that no two of a row touch; at most `rows`. */
export function stagger(words: readonly { at: number; width: number }[], rows: number): number[] {
  const ends = new Array<number>(rows).fill(Number.NEGATIVE_INFINITY)
  return words.map(({ at, width }) => {
    const free = ends.findIndex((end) => at - width / 2 >= end)
    const row = free < 0 ? ends.indexOf(Math.min(...ends)) : free
    ends[row] = at + width / 2
    return row
  })
}

/** Rules of one drawing, one a line, kept to itself: a page's drawings share one space of class names. */
export const scoped = (drawing: string, rules: string): string =>
  rules
    .split('\n')
    .map((rule) => (rule.startsWith('{') ? `.${drawing}${rule}` : `.${drawing} ${rule}`))
    .join('')
