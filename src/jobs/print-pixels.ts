import type { Address, Crew } from '#core/kernels'
import { type BrighterImage, eightBits, type PrintImage8, type PrintImage16, resizePrint } from '#picture/export'
import {
  brighterLook,
  type PrintSettings,
  printBytes,
  type RadiancePlanes,
  renderPrint8,
  renderPrint16,
  type Scene,
} from '#picture/finish'
import type { PrintFormat } from './contract/index.ts'

/** Stops above white that the brighter rendition of a gain-map print reaches: displays of today show two to three. */
export const HEADROOM_STOPS = 2.5

/** The pixels of one print, made when a format asks for them and kept for the next one. */
export interface PrintPixels {
  eight(): Promise<PrintImage8>
  sixteen(): Promise<PrintImage16>
  brighter(): Promise<BrighterImage>
}

/** Of the crew's memory, beside the planes: what the formats' pixels take while they are made. */
export const pixelMemoryBytes = (width: number, height: number, formats: readonly PrintFormat[], reduced: boolean) =>
  formats.every((f) => f === 'jpeg') && !reduced
    ? printBytes(width, height, 8)
    : printBytes(width, height, 16) + width * height * 3

/**
 * Renders a print's pixels at the size wanted. An 8-bit print of full size is rendered straight into the crew's memory, into
 * `room` if there is one, and is good until the arena is released; all others are the caller's own.
 */
export function printPixels(
  crew: Crew,
  planes: RadiancePlanes,
  scene: Scene,
  look: PrintSettings,
  longSidePixels: number | null,
  room: Address | null,
): PrintPixels {
  const { width, height } = planes
  const { arena } = crew
  const samples = width * height * 3
  const reduced = longSidePixels !== null && longSidePixels < Math.max(width, height)

  async function render16(settings: PrintSettings): Promise<PrintImage16> {
    const mark = arena.mark()
    try {
      const out = arena.alloc(samples * 2)
      await renderPrint16(crew, planes, scene, settings, out)
      return resizePrint({ width, height, space: 'srgb', data: arena.u16(out, samples).slice() }, longSidePixels)
    } finally {
      arena.release(mark)
    }
  }

  async function render8(): Promise<PrintImage8> {
    if (reduced) return eightBits(await pixels.sixteen())
    const out = room ?? arena.alloc(samples)
    await renderPrint8(crew, planes, scene, look, out)
    return { width, height, space: 'srgb', data: arena.u8(out, samples) }
  }

  const once = <T>(make: () => Promise<T>) => {
    let made: Promise<T> | null = null
    return () => {
      made ??= make()
      return made
    }
  }
  const pixels: PrintPixels = {
    eight: once(render8),
    sixteen: once(() => render16(look)),
    brighter: once(async () => ({
      ...(await render16(brighterLook(look, HEADROOM_STOPS))),
      headroomStops: HEADROOM_STOPS,
    })),
  }
  return pixels
}
