import { describe, expect, it } from 'vitest'
import { residualOf } from './compare.ts'
import { hazeOf } from './haze.ts'
import { madeBracket, townLight } from './made-bracket.fixture.ts'

const haze = (scene: (x: number, y: number) => number, foggy: readonly number[] = []) => {
  const frames = madeBracket(
    [0.02, 0.1, 0.5].map((seconds, k) => ({
      ...{ seconds, lamps: (_: number, y: number) => (foggy.includes(k) ? 0.6 : 1) + 0 * y },
      flash: () => (foggy.includes(k) ? 0.03 * seconds : 0),
    })),
    1,
    scene,
  )
  return hazeOf(
    frames,
    frames.map((_, k) => residualOf(frames, k)),
  )!
}

describe('haze', () => {
  it('shows as a veil: the share that a known veil adds to the darkest places, to 5 %', () => {
    const clear = (x: number, y: number) => townLight(x, y) - 0.0115
    expect(haze(clear).veilShare).toBeLessThan(0.3)
    let worst = 0
    for (const veil of [0.02, 0.05, 0.2]) {
      const found = haze((x, y) => clear(x, y) + veil)
      // Fog of even light: darkest = veil + dark, middle = veil + middle, both known of this scene.
      const all: number[] = []
      for (let y = 0; y < 188; y++) for (let x = 0; x < 83; x++) all.push(clear(x, y) + veil)
      all.sort((a, b) => a - b)
      const truth = all[Math.floor(0.01 * all.length)]! / all[all.length >> 1]!
      worst = Math.max(worst, Math.abs(found.veilShare - truth))
      expect(found.depthStops).toBeCloseTo(-Math.log2(found.veilShare), 9)
    }
    console.log(`veil share: worst ${(100 * worst).toFixed(1)} %`)
    expect(worst).toBeLessThan(0.05)
  })

  it('that drifts through one frame lowers its contrast against the others', () => {
    expect(haze(townLight).contrastLoss!).toBeLessThan(0.05)
    // Six tenths of the light and a veil as strong as the middle of the scene: more than a third is veil.
    expect(haze(townLight, [1]).contrastLoss!).toBeGreaterThan(0.3)
  })

  it('is not told of pictures without cells, without light, or all clipped', () => {
    expect(hazeOf([], [])).toBeNull()
    const of = (seconds: number) => hazeOf(madeBracket([{ seconds }], 1), [null])
    expect(of(1e-9)).toBeNull()
    expect(of(1e6)).toBeNull()
    expect(of(1)?.contrastLoss).toBeNull()
  })
})
