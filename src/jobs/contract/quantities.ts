/** Quantities as people read them, for every edge alike. */

/** "1/60 s" below a third of a second, "0.6 s", "2 s" above. */
export function shutter(seconds: number | null): string {
  if (seconds === null) return 'unknown time'
  if (seconds < 0.3) return `1/${Math.round(1 / seconds)} s`
  return `${Number(seconds.toFixed(1))} s`
}
