import { malformed, unsupported } from '#core/base'
import { type ExrChannel, type ExrFile, linearSrgbChromaticities } from '#core/formats'
import { type Address, type Arena, floatFromHalf } from '#core/kernels'
import type { RadiancePlanes } from '#picture/finish'

/** The largest half; infinities in a file become this, and what is no number becomes 0. */
const LARGEST = 65504
/** Chromaticities are written with three or four digits. */
const PRIMARY_TOLERANCE = 0.001

let halves: Float32Array | null = null

/** Every half as a float that arithmetic can bear. */
function halfTable(): Float32Array {
  halves ??= Float32Array.from({ length: 65536 }, (_, h) => bounded(floatFromHalf(h)))
  return halves
}

const bounded = (v: number) => (Number.isNaN(v) ? 0 : Math.min(Math.max(v, -LARGEST), LARGEST))

function fill(plane: Float32Array, channel: ExrChannel): void {
  const { samples } = channel
  if (channel.type === 'half') {
    const table = halfTable()
    for (let i = 0; i < plane.length; i++) plane[i] = table[samples[i]!]!
  } else for (let i = 0; i < plane.length; i++) plane[i] = bounded(samples[i]!)
}

/**
 * The channels R, G and B of a radiance file as planes in the arena.
 * @throws unsupported "exr-channels" (no R, G, B as half or float), "radiance-primaries" (not linear sRGB); malformed "radiance-empty"; limit "out-of-memory"
 */
export function planesOf(exr: ExrFile, arena: Arena): RadiancePlanes {
  const { width, height, chromaticities } = exr
  if (width < 1 || height < 1) throw malformed('radiance-empty', { width, height })
  if (chromaticities?.some((v, i) => Math.abs(v - linearSrgbChromaticities[i]!) > PRIMARY_TOLERANCE))
    throw unsupported('radiance-primaries', { found: chromaticities })
  const plane = (name: string): Address => {
    const channel = exr.channels.find((c) => c.name === name && c.type !== 'uint')
    if (!channel) throw unsupported('exr-channels', { wanted: name, found: exr.channels.map((c) => c.name) })
    const at = arena.alloc(width * height * 4)
    fill(arena.f32(at, width * height), channel)
    return at
  }
  return { width, height, stride: width, r: plane('R'), g: plane('G'), b: plane('B') }
}
