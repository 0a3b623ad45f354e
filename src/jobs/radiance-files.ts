import { EXR_ROW_HEAD_BYTES, exrLayout, linearSrgbChromaticities, srgbProfile } from '#core/formats'
import type { Address } from '#core/kernels'
import { chooseLook, layBlocks, measureScene, type RadiancePlanes, reducePlanes, renderPrint8 } from '#picture/finish'
import type { Host, LaidAside, MergedBracket, MergedFrameEntry, Pixels8, RadianceRecord } from './contract/index.ts'
import { candelaOfUnit } from './print.ts'
import type { RadianceImage } from './radiance-types.ts'

/** Long side of the preview, pixels. */
const PREVIEW_SIDE = 2016
const PREVIEW_QUALITY = 85

export const planesIn = (image: RadianceImage): RadiancePlanes => ({
  width: image.width,
  height: image.height,
  stride: image.width,
  r: image.planes[0],
  g: image.planes[1],
  b: image.planes[2],
})

/** Approximate luminance of value 1.0 of the image. */
export const candelaPerUnit = (image: RadianceImage) => candelaOfUnit(image.used[image.reference]!.facts)

const rounded = (v: number, digits: number) => Number(v.toFixed(digits))

function frameEntries(image: RadianceImage): MergedFrameEntry[] {
  const used = image.used.map(({ file }, k): MergedFrameEntry => {
    const { motion, nominalStops, ratioStops } = image.merged.frames[k]!
    return {
      file,
      used: true,
      reason: motion.found ? null : 'motion-not-found',
      ratioStops: rounded(ratioStops, 5),
      nominalStops: rounded(nominalStops, 5),
      shift: { x: rounded(motion.x, 4), y: rounded(motion.y, 4) },
      rotationDegrees: rounded(motion.rotationDegrees, 6),
      residualPixels: motion.residualPixels === null ? null : rounded(motion.residualPixels, 4),
    }
  })
  const files = new Set(used.map((u) => u.file))
  const notUsed = [...new Map(image.leftOut.map((l) => [l.what, l])).values()].filter(
    (l) => !files.has(l.what) && /[./\\]/.test(l.what),
  )
  return [
    ...used,
    ...notUsed.map(
      (l): MergedFrameEntry => ({
        file: l.what,
        used: false,
        reason: l.reason,
        ratioStops: null,
        nominalStops: null,
        shift: null,
        rotationDegrees: null,
        residualPixels: null,
      }),
    ),
  ]
}

/** A print's pixels as a preview. */
export async function previewOfPrint(host: Host, print: Pixels8): Promise<Uint8Array> {
  const pixels = await host.codec.reduce(print, PREVIEW_SIDE)
  return host.codec.encodeJpeg(pixels, PREVIEW_QUALITY, { exif: null, icc: srgbProfile() })
}

async function preview(host: Host, image: RadianceImage): Promise<Uint8Array> {
  const { crew } = image
  const mark = crew.arena.mark()
  try {
    const small = await reducePlanes(crew, planesIn(image), PREVIEW_SIDE)
    const scene = await measureScene(crew, small)
    const settings = chooseLook(scene, { candelaPerSquareMetrePerUnit: candelaPerUnit(image) })
    const samples = small.width * small.height * 3
    const out = crew.arena.alloc(samples)
    await renderPrint8(crew, small, scene, settings, out)
    const data = crew.arena.u8(out, samples)
    return await host.codec.encodeJpeg(
      { width: small.width, height: small.height, channels: 3, data },
      PREVIEW_QUALITY,
      { exif: null, icc: srgbProfile() },
    )
  } finally {
    crew.arena.release(mark)
  }
}

/** A file of numbers to come: lays it out by the crew and resolves once its writing has begun. */
type Writing = () => Promise<{ readonly laid: Promise<LaidAside> }>

/** Planes of the image as one file, in newly allocated memory that must stay until the writing is done. */
function numbersFile(
  host: Host,
  { crew, width, height }: RadianceImage,
  path: string,
  names: readonly string[],
  planes: readonly Address[],
  type: 'half' | 'float',
  about: Pick<Parameters<typeof exrLayout>[0], 'chromaticities' | 'whiteLuminance' | 'attributes'>,
): Writing {
  const channels = names.map((name) => ({ name, type }))
  const { head, blockBytes, channelOffsets } = exrLayout({ width, height, channels, ...about })
  const blocks = crew.arena.alloc(blockBytes * height)
  const placed = planes.map((at, c) => ({ at, offset: channelOffsets[c]!, type }))
  return async () => {
    await layBlocks(crew, { width, height, blockBytes, planes: placed }, blocks)
    const laid = host.files.layAside(path, [head, crew.arena.u8(blocks, blockBytes * height)])
    // Waited for later; a failure until then must not count as unhandled.
    laid.catch(() => {})
    return { laid }
  }
}

/** A file of one float channel whose rows stand in place: only their heads are missing. Its writing begins at once. */
function fileInPlace(
  host: Host,
  { crew, width, height }: RadianceImage,
  path: string,
  name: string,
  plane: Address,
  attributes: Readonly<Record<string, string>>,
): Promise<LaidAside> {
  const { head, blockBytes } = exrLayout({ width, height, channels: [{ name, type: 'float' }], attributes })
  const first = plane - EXR_ROW_HEAD_BYTES
  const words = crew.arena.i32(first, (blockBytes * height) / 4)
  for (let y = 0; y < height; y++) words.set([y, blockBytes - EXR_ROW_HEAD_BYTES], (y * blockBytes) / 4)
  const laid = host.files.layAside(path, [head, crew.arena.u8(first, blockBytes * height)])
  laid.catch(() => {})
  return laid
}

/** The two files of numbers: what is being written already, and what is to be laid out first. */
function numbersFiles(host: Host, image: RadianceImage, path: (name: string) => string, candela: number | null) {
  const software = `Duskwork ${host.version}`
  const origin = image.source === 'rendered' ? '; made from finished pictures through a solved response' : ''
  const radiance = numbersFile(host, image, path('radiance.exr'), ['R', 'G', 'B'], image.planes, 'half', {
    chromaticities: linearSrgbChromaticities,
    ...(candela === null ? {} : { whiteLuminance: candela }),
    attributes: { software, comments: `1.0 = saturation of the reference frame${origin}` },
  })
  const comments = 'variance of the merged sample at each pixel, before demosaicing and colour; unit: radiance squared'
  if (image.varianceInFile) {
    const begun = fileInPlace(host, image, path('variance.exr'), 'Y', image.variance, { software, comments })
    return { begun: [begun], waiting: [radiance] }
  }
  const variance = numbersFile(host, image, path('variance.exr'), ['Y'], [image.variance], 'float', {
    attributes: { software, comments },
  })
  return { begun: [] as Promise<LaidAside>[], waiting: [radiance, variance] }
}

/**
 * Writes radiance.exr, variance.exr, preview.jpg and record.json of a bracket into a folder; each whole or not at all.
 * `meanwhile` is done while the large files go to disk; it may give the preview, as one that makes a print can. By calling
 * what it is given it lets the crew lay out the next of those files, at a moment when it has no work for it.
 */
export async function writeRadiance(
  host: Host,
  image: RadianceImage,
  folder: string,
  id: string,
  seconds: () => number,
  meanwhile: (besides: () => Promise<void>) => Promise<Uint8Array | null> = async () => null,
): Promise<MergedBracket> {
  const { files } = host
  const { crew, width, height, merged } = image
  await files.makeDirectory(folder)
  const path = (name: string) => files.join(folder, name)
  host.progress({ stage: 'Writing', done: 0, total: 4 })
  const candela = candelaPerUnit(image)
  const entries = frameEntries(image)
  const laid: Promise<LaidAside>[] = []
  const layAside = async (name: string, content: Uint8Array | string) => {
    const done = files.layAside(path(name), content)
    laid.push(done)
    await done
  }
  try {
    await layNumbers()
    host.progress({ stage: 'Writing', done: 3, total: 4 })
    await layAside('record.json', `${JSON.stringify(recordOf(host, image, id, entries, candela), null, 2)}\n`)
    // The old product stays whole until the last file of the new one is on the disk.
    for (const done of laid) await (await done).place()
  } catch (error) {
    for (const done of await Promise.allSettled(laid)) if (done.status === 'fulfilled') await done.value.drop()
    throw error
  }
  host.progress({ stage: 'Writing', done: 4, total: 4 })
  return {
    id,
    reference: image.used[image.reference]!.file,
    frames: entries,
    radiance: path('radiance.exr'),
    variance: path('variance.exr'),
    sources: null,
    preview: path('preview.jpg'),
    record: path('record.json'),
    width,
    height,
    scale: { candelaPerSquareMetrePerUnit: candela },
    clippedShare: merged.clippedShare,
    ghostShare: null,
    source: image.source,
    seconds: rounded(seconds(), 3),
  }

  /** The large files and the preview; the memory they are laid out in is given back once they are written. */
  async function layNumbers(): Promise<void> {
    const mark = crew.arena.mark()
    try {
      const { begun, waiting } = numbersFiles(host, image, path, candela)
      laid.push(...begun)
      const next = async () => {
        const writing = await waiting.shift()?.()
        if (writing) laid.push(writing.laid)
      }
      try {
        const given = await meanwhile(next)
        while (waiting.length > 0) await next()
        host.progress({ stage: 'Writing', done: 1, total: 4 })
        await layAside('preview.jpg', given ?? (await preview(host, image)))
      } finally {
        // Whatever happened, the memory that is being written must outlive the writing.
        await Promise.allSettled(laid)
      }
      await Promise.all(laid)
    } finally {
      crew.arena.release(mark)
    }
  }
}

/** How a merge came about, for the file beside it. */
function recordOf(
  host: Host,
  image: RadianceImage,
  id: string,
  entries: readonly MergedFrameEntry[],
  candela: number | null,
): RadianceRecord {
  const { files } = host
  const reference = image.used[image.reference]!
  const { exposureSeconds, fNumber, iso, focalLengthMillimetres, takenAt } = reference.facts
  const { make, model, artist = null, copyright = null, caption = null } = reference.facts
  const leftOut = image.leftOut.map((l) => ({ ...l, facts: { ...l.facts } }))
  return {
    schema: 'record/1',
    product: 'radiance',
    madeBy: `Duskwork ${host.version}`,
    bracket: id,
    source: image.source,
    inputs: image.used.map((u) => ({ ...u.input, file: files.baseName(u.input.file) })),
    settings: { kernels: image.crew.kernels },
    reference: {
      file: files.baseName(reference.file),
      exposureSeconds,
      fNumber,
      iso,
      focalLengthMillimetres,
      takenAt,
      make,
      model,
      artist,
      copyright,
      caption,
    },
    frames: entries.map((e) => ({ ...e, file: files.baseName(e.file) })),
    noise: { source: image.noise.source, terms: image.noise.terms.map(({ scale, offset }) => ({ scale, offset })) },
    colour: image.colour,
    picture: {
      width: image.width,
      height: image.height,
      orientationApplied: image.orientation,
      units: 'linear sRGB, 1.0 = saturation of the reference frame',
    },
    scale: { candelaPerSquareMetrePerUnit: candela },
    clippedShare: image.merged.clippedShare,
    ghostShare: null,
    leftOut,
  }
}
