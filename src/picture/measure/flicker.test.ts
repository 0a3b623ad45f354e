import { describe, expect, it } from 'vitest'
import { residualOf } from './compare.ts'
import { flickerOf } from './flicker.ts'
import { madeBracket, townLight } from './made-bracket.fixture.ts'

/** A cell is 16 rows. */
const ROWS = 16

/**
 * Lamps of full modulation at `hertz`, read row by row: 1 + m·sinc(f·t)·cos(2π f (y·t_row + t/2) + φ). The lamp-lit part of
 * the picture is all but the sky, whose light is steady.
 */
const mains =
  (hertz: number, seconds: number, rowSeconds: number, modulation = 1, phase = 0.7) =>
  (x: number, y: number): number => {
    const blur = Math.sin(Math.PI * hertz * seconds) / (Math.PI * hertz * seconds)
    const lit = y < 50 ? 0 : 1
    // Three streets on three phases of the mains.
    const street = ((2 * Math.PI) / 3) * Math.floor(x / 28)
    const row = (y + 0.5) * ROWS
    return (
      1 + lit * modulation * blur * Math.cos(2 * Math.PI * hertz * (row * rowSeconds + seconds / 2) + phase + street)
    )
  }

const found = (frames: Parameters<typeof madeBracket>[0], k: number, rowSeconds: number | null, seed = 1) =>
  flickerOf(residualOf(madeBracket(frames, seed), k)!, ROWS, rowSeconds)

describe('flicker', () => {
  it('of lamps at 100 and 120 Hz at 1/200 s is found in frequency to 3 % and in depth to 10 %', () => {
    let [worstHertz, worstDepth] = [0, 0]
    for (const hertz of [100, 120])
      for (const readout of [0.03, 0.045, 0.08]) {
        const rowSeconds = readout / 3008
        const short = 1 / 200
        const frames = [short, 0.1, 0.5].map((seconds) => ({
          seconds: 4 * seconds,
          lamps: mains(hertz, seconds, rowSeconds),
        }))
        const flicker = found(frames, 0, rowSeconds)
        expect(flicker, `${hertz} Hz, ${readout} s`).not.toBeNull()
        // sinc(f·t): 64 % at 100 Hz and 1/200 s (closed form).
        const truth = Math.abs(Math.sin(Math.PI * hertz * short) / (Math.PI * hertz * short))
        worstHertz = Math.max(worstHertz, Math.abs(flicker!.hertz! / hertz - 1))
        worstDepth = Math.max(worstDepth, Math.abs(flicker!.depth / truth - 1))
      }
    console.log(
      `flicker: frequency worst ${(100 * worstHertz).toFixed(2)} %, depth worst ${(100 * worstDepth).toFixed(1)} %`,
    )
    expect(worstHertz).toBeLessThan(0.03)
    expect(worstDepth).toBeLessThan(0.1)
  })

  it('of 5 % depth is found, and its frequency told in rows where the time of a row is not known', () => {
    const rowSeconds = 1e-5
    const frames = [0.02, 0.4, 2].map((seconds, k) => ({
      ...{ seconds, lamps: mains(100, k === 0 ? 0.005 : 0.5, rowSeconds, 0.08) },
    }))
    const flicker = found(frames, 0, null)!
    expect(flicker.hertz).toBeNull()
    expect(Math.abs(flicker.cyclesPerRow / 1e-3 - 1)).toBeLessThan(0.05)
  })

  it('is not seen under steady lamps: 200 brackets, still, drifting and darkening', () => {
    let alarms = 0
    for (let seed = 1; seed <= 40; seed++) {
      const drift = [(seed % 5) / 24, (seed % 7) / 10] as const
      const frames = [0.02, 0.1, 0.5, 2].map((seconds, k) => ({
        seconds,
        drift: [k * drift[0], k * drift[1]] as const,
        // The sky loses light from frame to frame, and with it the ground a little.
        lamps: (_: number, y: number) => 1 - (seed % 3) * 0.01 * k * (y < 55 ? 1 : 0.3),
      }))
      for (let k = 0; k < 4; k++) if (found(frames, k, 1e-5, seed)) alarms++
      // A car that passed with its lamps.
      const car = [0.02, 0.5].map((seconds, k) => ({
        ...{ seconds },
        flash: (x: number, y: number) => (k === 0 && Math.hypot(3 * x - 100 - seed, y - 120) < 12 ? 0.01 : 0),
      }))
      if (found(car, 0, 1e-5, seed)) alarms++
    }
    console.log(`false alarms of flicker: ${alarms} of 200`)
    expect(alarms).toBe(0)
  })

  it('is not looked for in frames without lit cells, clipped ones and small ones', () => {
    const dark = madeBracket([{ seconds: 1e-5 }, { seconds: 2e-5 }], 3)
    const residual = residualOf(dark, 0)
    expect(residual === null || flickerOf(residual, ROWS, 1e-5) === null).toBe(true)
    const clipped = madeBracket([{ seconds: 1000 }, { seconds: 500 }], 3)
    expect(residualOf(clipped, 0)).toBeNull()
    const small = residualOf(madeBracket([{ seconds: 1 }, { seconds: 2 }], 3, townLight, [12, 10]), 0)
    expect(small === null || flickerOf(small, ROWS, 1e-5) === null).toBe(true)
    expect(residualOf(madeBracket([{ seconds: 1 }], 3), 0)).toBeNull()
  })
})
