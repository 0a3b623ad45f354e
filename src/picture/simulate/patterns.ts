import { seededRandom } from '#core/base'
import type { Scene, SceneRequest } from './scene.ts'

interface Wave {
  readonly fx: number
  readonly fy: number
  readonly phase: number
  readonly size: readonly [number, number, number]
}

/** The waves of a pattern: the same seed gives the same formula. */
export function wavesOf(request: Extract<SceneRequest, { kind: 'waves' }>): readonly Wave[] {
  const random = seededRandom(request.seed)
  const shortest = request.shortestPeriod ?? 9
  const mean = request.mean ?? 0.2
  return Array.from({ length: 24 }, () => {
    const period = shortest * (1 + 7 * random.uniform() ** 2)
    const direction = 2 * Math.PI * random.uniform()
    const size = mean * 0.07 * (0.5 + random.uniform())
    return {
      fx: Math.cos(direction) / period,
      fy: Math.sin(direction) / period,
      phase: 2 * Math.PI * random.uniform(),
      size: [size * (0.7 + 0.6 * random.uniform()), size, size * (0.7 + 0.6 * random.uniform())] as const,
    }
  })
}

export function patternScene(request: Exclude<SceneRequest, { kind: 'town' }>, width: number): Scene {
  if (request.kind === 'bands') {
    const { bands, low, high } = request
    return {
      row(_y, left, n, out) {
        for (let i = 0; i < n; i++) {
          const band = Math.min(Math.max(Math.floor(((left + i) / width) * bands), 0), bands - 1)
          out.fill(low * (high / low) ** (bands > 1 ? band / (bands - 1) : 0), i * 3, i * 3 + 3)
        }
      },
      spots: () => [],
    }
  }
  const waves = wavesOf(request)
  const mean = request.mean ?? 0.2
  return {
    row(y, left, n, out) {
      out.fill(mean, 0, n * 3)
      for (const w of waves) {
        for (let i = 0; i < n; i++) {
          const v = Math.sin(2 * Math.PI * (w.fx * (left + i) + w.fy * y) + w.phase)
          out[i * 3]! += w.size[0] * v
          out[i * 3 + 1]! += w.size[1] * v
          out[i * 3 + 2]! += w.size[2] * v
        }
      }
    },
    spots: () => [],
  }
}
