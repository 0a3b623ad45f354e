import { readExr, srgbProfile, utf8Text } from '#core/formats'
import type { Crew } from '#core/kernels'
import {
  chooseLook,
  measureScene,
  type PrintSettings,
  type RadiancePlanes,
  reducePlanes,
  renderPrint8,
  type Scene,
} from '#picture/finish'
import type { DeskState, Host, Pixels8 } from './contract/index.ts'
import { candelaOfUnit, printMemoryBytes } from './print.ts'
import { planesOf } from './radiance-planes.ts'

/** Long side of the picture that follows the hand: 2000 × 1500 of a 12-megapixel picture. */
export const DESK_SIDE = 2016
/** For the eye while it works, not for keeping. */
const DESK_QUALITY = 82
const BIN_STOPS = 0.25
const BINS = 128
/** Below this nothing of a picture is told from black. */
const LOWEST_STOPS = -22

/** A radiance image held in memory, so that a look can be tried on it again and again. One call works at a time. */
export interface Desk {
  readonly state: DeskState
  /** The reduced picture as a JPEG. */
  preview(settings: PrintSettings): Promise<Uint8Array>
  /** The whole picture; newly allocated. */
  whole(settings: PrintSettings): Promise<Pixels8>
  /** Linear radiance of a pixel; null outside the picture. */
  at(x: number, y: number): readonly [number, number, number] | null
  close(): Promise<void>
}

/**
 * Reads a radiance file for looking at. The caller closes it.
 * @throws Failure io; malformed "exr-…"; unsupported "exr-…", "radiance-primaries"; limit
 */
export async function openDesk(host: Host, radiancePath: string): Promise<Desk> {
  const exr = readExr(await host.files.read(radiancePath))
  const candela = await candelaOf(host, radiancePath)
  const { width, height } = exr
  const crew = await host.crew(3 * (width * height * 4 + 128) * 1.4 + printMemoryBytes(width, height) + (1 << 20))
  try {
    const planes = planesOf(exr, crew.arena)
    const small = await reducePlanes(crew, planes, DESK_SIDE)
    const scenes = { whole: await measureScene(crew, planes), small: await measureScene(crew, small) }
    return deskOf(host, crew, planes, small, scenes, candela)
  } catch (error) {
    await crew.close()
    throw error
  }
}

function deskOf(
  host: Host,
  crew: Crew,
  planes: RadiancePlanes,
  small: RadiancePlanes,
  scenes: { readonly whole: Scene; readonly small: Scene },
  candela: number | null,
): Desk {
  const { arena } = crew
  const automatic = chooseLook(scenes.whole, { candelaPerSquareMetrePerUnit: candela })
  let last: Promise<unknown> = Promise.resolve()
  /** The crew does one thing at a time, and so does the stack of its memory. */
  const inTurn = <T>(work: () => Promise<T>): Promise<T> => {
    const next = last.then(work, work)
    last = next.catch(() => {})
    return next
  }
  const rendered = async <T>(
    of: RadiancePlanes,
    scene: Scene,
    settings: PrintSettings,
    use: (pixels: Pixels8) => Promise<T>,
  ): Promise<T> => {
    const mark = arena.mark()
    try {
      const samples = of.width * of.height * 3
      const out = arena.alloc(samples)
      await renderPrint8(crew, of, scene, settings, out)
      return await use({ width: of.width, height: of.height, channels: 3, data: arena.u8(out, samples) })
    } finally {
      arena.release(mark)
    }
  }
  return {
    state: {
      width: planes.width,
      height: planes.height,
      preview: { width: small.width, height: small.height },
      automatic: { ...automatic, rungs: automatic.rungs.map((r) => ({ ...r })) },
      histogram: histogramOf(crew, small),
      noiseFloorStops: floorOf(scenes.whole),
      statistics: { ...scenes.whole.statistics },
      candelaPerSquareMetrePerUnit: candela,
    },
    preview: (settings) =>
      inTurn(() =>
        rendered(small, scenes.small, settings, (pixels) =>
          host.codec.encodeJpeg(pixels, DESK_QUALITY, { exif: null, icc: srgbProfile() }),
        ),
      ),
    whole: (settings) =>
      inTurn(() =>
        rendered(planes, scenes.whole, settings, async (pixels) => ({ ...pixels, data: Uint8Array.from(pixels.data) })),
      ),
    at(x, y) {
      if (!(x >= 0 && y >= 0 && x < planes.width && y < planes.height)) return null
      const place = (Math.floor(y) * planes.stride + Math.floor(x)) * 4
      const of = (plane: number) => arena.f32(plane + place, 1)[0]!
      return [of(planes.r), of(planes.g), of(planes.b)]
    },
    close: () => inTurn(() => crew.close()),
  }
}

/** Luminance by ITU-R BT.709, of every fourth pixel each way: some hundred thousand are enough for a drawing. */
function histogramOf(crew: Crew, { width, height, stride, r, g, b }: RadiancePlanes): DeskState['histogram'] {
  const counts = new Array<number>(BINS).fill(0)
  let n = 0
  for (let y = 0; y < height; y += 4) {
    const [red, green, blue] = [r, g, b].map((plane) => crew.arena.f32(plane + y * stride * 4, width))
    for (let x = 0; x < width; x += 4) {
      const luminance = 0.2126 * red![x]! + 0.7152 * green![x]! + 0.0722 * blue![x]!
      const stops = luminance > 0 ? Math.log2(luminance) : LOWEST_STOPS
      const bin = Math.min(BINS - 1, Math.max(0, Math.floor((stops - LOWEST_STOPS) / BIN_STOPS)))
      counts[bin]!++
      n++
    }
  }
  return { fromStops: LOWEST_STOPS, binStops: BIN_STOPS, shares: counts.map((c) => Number((c / n).toPrecision(4))) }
}

/** Where luminance equals the standard deviation of its noise: L² = scale · L + offset. */
function floorOf({ statistics: { noiseScale: s, noiseOffset: o } }: Scene): number | null {
  const level = (s + Math.sqrt(s * s + 4 * o)) / 2
  return level > 0 ? Number(Math.log2(level).toFixed(2)) : null
}

async function candelaOf({ files }: Host, radiancePath: string): Promise<number | null> {
  const beside = files.join(files.directoryName(radiancePath), 'record.json')
  if (!(await files.exists(beside))) return null
  const { bracketFactsSchema } = await import('#jobs/schemas')
  try {
    const { scale, reference } = bracketFactsSchema.parse(JSON.parse(utf8Text(await files.read(beside)) ?? ''))
    return scale?.candelaPerSquareMetrePerUnit ?? candelaOfUnit(reference)
  } catch {
    return null
  }
}
