import { srgbDecodeTable } from '#core/colour'
import type { Address, Crew, Task } from '#core/kernels'
import type { MeasureView } from './light.ts'

interface LumaParams {
  /** Interleaved 8-bit codes, three a pixel. */
  readonly from: Address
  readonly pixels: number
  readonly to: Address
}

const CHUNK = 1 << 18
/** Weights of linear red, green, blue in luminance: IEC 61966-2-1. */
const LUMINANCE = [0.2126, 0.7152, 0.0722] as const
const WHITE = 65535

export const lumaOfRenderedTask: Task = ({ memory }, { from, pixels, to }: LumaParams, item) => {
  const first = item * CHUNK
  const n = Math.min(CHUNK, pixels - first)
  const codes = memory.u8(from + 3 * first, 3 * n)
  const luma = memory.u16(to + 2 * first, n)
  const linear = srgbDecodeTable(256)
  const [r, g, b] = LUMINANCE.map((w) => linear.map((v) => WHITE * w * v)) as [Float32Array, Float32Array, Float32Array]
  for (let i = 0, j = 0; i < n; i++, j += 3) {
    const [x, y, z] = [codes[j]!, codes[j + 1]!, codes[j + 2]!]
    // One clipped colour bends the shape of a lamp: it counts as saturated.
    luma[i] = Math.max(x, y, z) >= 254 ? WHITE : r[x]! + g[y]! + b[z]! + 0.5
  }
}

/**
 * A view of a camera's finished picture: its luminance, as if its tone curve were sRGB's. Cameras bend it further and sharpen, so
 * lengths from it are for ranking. `from` holds width × height × 3 codes, `to` takes width × height u16.
 */
export async function viewRendered(
  crew: Crew,
  from: Address,
  to: Address,
  size: { readonly width: number; readonly height: number },
): Promise<MeasureView> {
  const pixels = size.width * size.height
  await crew.run('measure.luma', { from, pixels, to } satisfies LumaParams, Math.ceil(pixels / CHUNK))
  return { ...size, at: to, cfa: null, black: [0, 0, 0, 0], white: WHITE }
}
