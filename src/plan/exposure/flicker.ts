/**
 * What of a lamp's modulation is left in one exposure: |sin(πft)/(πft)|, f twice the mains frequency. Rows of a rolling
 * shutter see it as stripes. 0 at whole numbers of periods (1/100, 1/50 s on 50 Hz).
 */
export function flickerLeft(seconds: number, mainsHertz: number): number {
  const x = Math.PI * 2 * mainsHertz * seconds
  return x === 0 ? 1 : Math.abs(Math.sin(x) / x)
}

/** More than this of a fully modulated lamp shows as stripes. An assumption: lamps modulate by a tenth to all. */
export const FLICKER_SHOWS = 0.1
