import type { Matrix3 } from '#core/base'
import type { Address, Crew, Memory, TaskContext } from '#core/kernels'
import { lanternMatrices } from './camera.ts'
import { PHASES, phaseWeights, TAPS } from './phases.ts'
import type { SceneRequest, Spot } from './scene.ts'
import { sceneOf } from './scene-of.ts'

/**
 * The scene as the lens gives it to the sensor, without noise: three float planes (red, green, blue of the camera, raw
 * over white in the reference frame, before white balance), with a margin all round for frames that stand elsewhere.
 */
export interface Master {
  /** Three planes of planeWidth × planeHeight floats, one after the other. */
  readonly planes: Address
  readonly planeWidth: number
  readonly planeHeight: number
  readonly margin: number
  /** The picture without its margin. */
  readonly width: number
  readonly height: number
  /** Interpolation weights: see phaseWeights. */
  readonly weights: Address
}

interface RenderParams extends Master {
  readonly scene: SceneRequest
  readonly kernel: readonly number[]
  readonly matrix: Matrix3
}

/** Rows of a strip: enough that building the scene anew for each costs little. */
const ROWS = 48
const COLUMNS = 64

/** Half of a Gaussian's samples to 4σ, scaled so that the whole sums to 1; a single 1 for no blur. */
function gaussianHalf(sigma: number): number[] {
  if (!(sigma > 0)) return [1]
  const half = Array.from({ length: Math.ceil(4 * sigma) + 1 }, (_, i) => Math.exp((-i * i) / (2 * sigma * sigma)))
  const sum = half.reduce((a, v, i) => a + (i === 0 ? v : 2 * v), 0)
  return half.map((v) => v / sum)
}

/** Bytes of shared memory that a master takes. */
export const masterBytes = (width: number, height: number, margin: number) =>
  (width + 2 * margin) * (height + 2 * margin) * 12 + (PHASES + 1) * TAPS * 4 + 1024

/**
 * Renders a scene. `blurPixels` is the lens's Gaussian blur; 0 only for scenes that are smooth by themselves. The spots
 * are added with their own width. The memory is the crew's: release it with the arena's mark.
 */
export async function renderMaster(
  crew: Crew,
  scene: SceneRequest,
  size: { readonly width: number; readonly height: number; readonly margin: number; readonly blurPixels: number },
): Promise<Master> {
  const { width, height, margin, blurPixels } = size
  const planeWidth = width + 2 * margin
  const planeHeight = height + 2 * margin
  const weights = crew.arena.alloc((PHASES + 1) * TAPS * 4)
  crew.arena.f32(weights, (PHASES + 1) * TAPS).set(phaseWeights())
  const planes = crew.arena.alloc(planeWidth * planeHeight * 12)
  const master: Master = { planes, planeWidth, planeHeight, margin, width, height, weights }
  const matrix = lanternMatrices().fromLinearSrgb
  const params: RenderParams = { ...master, scene, kernel: gaussianHalf(blurPixels), matrix }
  await crew.run('simulate.render', params, Math.ceil(planeHeight / ROWS))
  if (blurPixels > 0) await crew.run('simulate.blurColumns', params, Math.ceil(planeWidth / COLUMNS) * 3)
  addSpots(crew.arena, params, sceneOf(scene, width, height).spots())
  await crew.run('simulate.toCamera', params, Math.ceil(planeHeight / ROWS))
  return master
}

/** Samples a strip of rows and blurs each along its length. */
export function renderTask({ memory, scratch }: TaskContext, p: RenderParams, item: number): void {
  const scene = sceneOf(p.scene, p.width, p.height)
  const reach = p.kernel.length - 1
  const wide = p.planeWidth + 2 * reach
  const row = memory.f32(scratch, wide * 3)
  const size = p.planeWidth * p.planeHeight
  const planes = memory.f32(p.planes, size * 3)
  const last = Math.min((item + 1) * ROWS, p.planeHeight)
  for (let y = item * ROWS; y < last; y++) {
    scene.row(y - p.margin, -p.margin - reach, wide, row)
    for (let c = 0; c < 3; c++) {
      const to = c * size + y * p.planeWidth
      for (let x = 0; x < p.planeWidth; x++) {
        const at = (x + reach) * 3 + c
        let sum = p.kernel[0]! * row[at]!
        for (let k = 1; k <= reach; k++) sum += p.kernel[k]! * (row[at - 3 * k]! + row[at + 3 * k]!)
        planes[to + x] = sum
      }
    }
  }
}

/** Blurs a band of columns of one plane in place; the edge rows are repeated beyond the edge. */
export function blurColumnsTask({ memory, scratch }: TaskContext, p: RenderParams, item: number): void {
  const bands = Math.ceil(p.planeWidth / COLUMNS)
  const left = (item % bands) * COLUMNS
  const n = Math.min(COLUMNS, p.planeWidth - left)
  const plane = memory.f32(
    p.planes + Math.floor(item / bands) * p.planeWidth * p.planeHeight * 4,
    p.planeWidth * p.planeHeight,
  )
  const reach = p.kernel.length - 1
  const h = p.planeHeight
  const copy = memory.f32(scratch, n * h)
  for (let y = 0; y < h; y++) copy.set(plane.subarray(y * p.planeWidth + left, y * p.planeWidth + left + n), y * n)
  for (let y = 0; y < h; y++) {
    const to = y * p.planeWidth + left
    for (let x = 0; x < n; x++) plane[to + x] = p.kernel[0]! * copy[y * n + x]!
    for (let k = 1; k <= reach; k++) {
      const above = Math.max(y - k, 0) * n
      const below = Math.min(y + k, h - 1) * n
      const w = p.kernel[k]!
      for (let x = 0; x < n; x++) plane[to + x]! += w * (copy[above + x]! + copy[below + x]!)
    }
  }
}

function addSpots(memory: Memory, p: RenderParams, spots: readonly Spot[]): void {
  const size = p.planeWidth * p.planeHeight
  const planes = memory.f32(p.planes, size * 3)
  for (const spot of spots) {
    const x = spot.x + p.margin
    const y = spot.y + p.margin
    const reach = Math.ceil(4.5 * spot.sigma)
    const norm = 1 / (2 * Math.PI * spot.sigma * spot.sigma)
    const falloff = -1 / (2 * spot.sigma * spot.sigma)
    const firstX = Math.max(Math.floor(x) - reach, 0)
    const lastX = Math.min(Math.ceil(x) + reach, p.planeWidth - 1)
    const across = Array.from({ length: Math.max(lastX - firstX + 1, 0) }, (_, i) =>
      Math.exp((firstX + i - x) ** 2 * falloff),
    )
    for (let j = Math.max(Math.floor(y) - reach, 0); j <= Math.min(Math.ceil(y) + reach, p.planeHeight - 1); j++) {
      const down = norm * Math.exp((j - y) ** 2 * falloff)
      for (let c = 0; c < 3; c++) {
        const flux = spot.flux[c]! * down
        const to = c * size + j * p.planeWidth + firstX
        for (let i = 0; i < across.length; i++) planes[to + i]! += flux * across[i]!
      }
    }
  }
}

/** Linear sRGB → camera values, in place. */
export function toCameraTask({ memory }: TaskContext, p: RenderParams, item: number): void {
  const size = p.planeWidth * p.planeHeight
  const [r, g, b] = [0, 1, 2].map((c) => memory.f32(p.planes + c * size * 4, size)) as [
    Float32Array,
    Float32Array,
    Float32Array,
  ]
  const [m0, m1, m2, m3, m4, m5, m6, m7, m8] = p.matrix
  const last = Math.min((item + 1) * ROWS, p.planeHeight) * p.planeWidth
  for (let i = item * ROWS * p.planeWidth; i < last; i++) {
    const R = r[i]!
    const G = g[i]!
    const B = b[i]!
    r[i] = m0 * R + m1 * G + m2 * B
    g[i] = m3 * R + m4 * G + m5 * B
    b[i] = m6 * R + m7 * G + m8 * B
  }
}
