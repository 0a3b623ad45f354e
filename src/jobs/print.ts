import type { LeftOut } from '#core/base'
import { readExr, readJpegContainer, readTiff, SRGB_PROFILE_NAME, srgbProfile, utf8Text } from '#core/formats'
import type { Address, Crew } from '#core/kernels'
import { saturationLuminance } from '#core/sensor'
import { exifBlock, neverWritten, noFacts, type PrintFacts } from '#picture/export'
import {
  chooseLook,
  measureScene,
  type PrintSettings,
  printBytes,
  type RadiancePlanes,
  renderPrint8,
  renderPrint16,
  type Scene,
} from '#picture/finish'
import type { Host, Pixels8, PrintDocument, Printed, PrintRecord, ReferenceFacts } from './contract/index.ts'
import { planesOf } from './radiance-planes.ts'

export type PrintFormat = 'jpeg' | 'tiff16'

export interface PrintOptions {
  readonly outDirectory: string
  readonly format: PrintFormat
  /** Name of the print without its extension; by default the bracket's folder or the radiance file's own name. */
  readonly name?: string
  readonly artist?: string | null
  readonly copyright?: string | null
  /** A smaller copy for looking at: called with the pixels of an 8-bit print while they are encoded. */
  readonly copy?: (pixels: Pixels8) => Promise<void>
  /** Three bytes a pixel of the crew's memory for the pixels of an 8-bit print; newly allocated by default. */
  readonly room?: Address | null
  /** Starts other work of the crew, if there is any, for the while that the print is measured on one thread. */
  readonly besides?: () => Promise<void>
  /** The look; by default chosen from the picture. */
  readonly settings?: PrintSettings
}

/** Where the planes came from and what is known of them. */
export interface PrintSource {
  readonly file: string
  readonly sha256: string | null
  readonly name: string
  readonly reference: ReferenceFacts | null
  readonly candelaPerSquareMetrePerUnit: number | null
}

export interface PrintResult {
  readonly printed: Printed
  readonly leftOut: readonly LeftOut[]
}

/** Visually free of coding errors at the largest size that is printed; see docs/decisions/0004-look.md. */
const JPEG_QUALITY = 92
const extensions: Readonly<Record<PrintFormat, string>> = { jpeg: '.jpg', tiff16: '.tif' }

/** Shared memory that `printPlanes` needs beyond the planes themselves. */
export const printMemoryBytes = (width: number, height: number, format: PrintFormat): number =>
  printBytes(width, height, format === 'jpeg' ? 8 : 16)

/**
 * One print of the planes, with its record, both written whole or not at all. The planes stay as they are and the arena is
 * given back. @throws Failure io; limit "out-of-memory"; aborted
 */
export async function printPlanes(
  host: Host,
  crew: Crew,
  planes: RadiancePlanes,
  source: PrintSource,
  options: PrintOptions,
): Promise<PrintResult> {
  const name = options.name ?? source.name
  const stage = `print ${name}`
  host.progress({ stage, done: 0, total: 3 })
  const scene = await measureScene(crew, planes, options.besides)
  const facts = { candelaPerSquareMetrePerUnit: source.candelaPerSquareMetrePerUnit }
  const settings = options.settings ?? chooseLook(scene, facts)
  const { width, height } = planes
  const block = exifBlock(factsOf(source.reference, options), { width, height, software: `Duskwork ${host.version}` })
  const bytes = await encoded(host, crew, planes, scene, settings, options, block.bytes)
  host.throwIfStopped()
  host.progress({ stage, done: 1, total: 3 })

  await host.files.makeDirectory(options.outDirectory)
  const file = host.files.join(options.outDirectory, name + extensions[options.format])
  const record = `${file}.record.json`
  await host.files.write(file, bytes)
  const kept = [...block.kept]
  const removed = [...neverWritten]
  const written: PrintRecord = {
    schema: 'print-record/1',
    print: {
      file: host.files.baseName(file),
      sha256: host.sha256(bytes),
      format: options.format,
      quality: options.format === 'jpeg' ? JPEG_QUALITY : null,
    },
    from: { file: source.file, sha256: source.sha256, width, height },
    program: { version: host.version, kernels: crew.kernels },
    settings: { ...settings, rungs: settings.rungs.map((r) => ({ ...r })) },
    scene: { ...scene.statistics },
    candelaPerSquareMetrePerUnit: source.candelaPerSquareMetrePerUnit,
    removed,
    kept,
  }
  await host.files.write(record, `${JSON.stringify(written, null, 2)}\n`)
  host.progress({ stage, done: 2, total: 3 })
  const proof = await proofOf(host, file, { width, height, format: options.format })
  host.progress({ stage, done: 3, total: 3 })
  const printed: Printed = {
    file,
    from: source.file,
    record,
    width,
    height,
    format: options.format,
    profile: SRGB_PROFILE_NAME,
    bytes: bytes.length,
    removed,
    kept,
    proof,
  }
  const leftOut: LeftOut[] = proof.ok ? [] : [{ what: file, reason: 'print-proof-failed', facts: {} }]
  return { printed, leftOut }
}

async function encoded(
  host: Host,
  crew: Crew,
  planes: RadiancePlanes,
  scene: Scene,
  settings: PrintSettings,
  { format, copy, room }: PrintOptions,
  exif: Uint8Array,
): Promise<Uint8Array> {
  const { width, height } = planes
  const { arena } = crew
  const mark = arena.mark()
  const metadata = { exif, icc: srgbProfile() }
  const samples = width * height * 3
  try {
    if (format === 'jpeg') {
      const out = room ?? arena.alloc(samples)
      await renderPrint8(crew, planes, scene, settings, out)
      const data = arena.u8(out, samples)
      const pixels: Pixels8 = { width, height, channels: 3, data }
      // Both are done with the pixels before the memory goes back, whichever fails.
      const copied = copy?.(pixels) ?? Promise.resolve()
      const [jpeg, copyDone] = await Promise.allSettled([host.codec.encodeJpeg(pixels, JPEG_QUALITY, metadata), copied])
      if (jpeg.status === 'rejected') throw jpeg.reason
      if (copyDone.status === 'rejected') throw copyDone.reason
      return jpeg.value
    }
    const out = arena.alloc(samples * 2)
    await renderPrint16(crew, planes, scene, settings, out)
    return await host.codec.encodeTiff16({ width, height, data: arena.u16(out, samples) }, metadata)
  } finally {
    arena.release(mark)
  }
}

function factsOf(reference: ReferenceFacts | null, options: PrintOptions): PrintFacts {
  return {
    ...noFacts,
    ...(reference
      ? {
          exposureSeconds: reference.exposureSeconds,
          fNumber: reference.fNumber,
          iso: reference.iso,
          focalLengthMillimetres: reference.focalLengthMillimetres,
          takenAtCamera: reference.takenAt?.camera ?? null,
          offsetMinutes: reference.takenAt?.offsetMinutes ?? null,
          make: reference.make,
          model: reference.model,
        }
      : {}),
    artist: options.artist ?? null,
    copyright: options.copyright ?? null,
  }
}

/** Reads the file from disk again: by another decoder for size, format and profile, by our own for a position. */
async function proofOf(
  host: Host,
  file: string,
  wanted: { width: number; height: number; format: PrintFormat },
): Promise<Printed['proof']> {
  const bytes = await host.files.read(file)
  const found = await host.codec.probe(bytes)
  const isJpeg = wanted.format === 'jpeg'
  const block = isJpeg ? readJpegContainer(bytes).exif : bytes
  const hasPosition = block === null || readTiff(block).directories.some((d) => d.fields.has(GPS_TAG))
  const ok =
    found.width === wanted.width &&
    found.height === wanted.height &&
    found.format === (isJpeg ? 'jpeg' : 'tiff') &&
    found.hasProfile &&
    !found.hasXmp &&
    !hasPosition
  return { reader: 'independent decoder', ok }
}

/** The pointer to a GPS directory (Exif 2.32 section 4.6.3). */
const GPS_TAG = 34853

/**
 * Prints a radiance file. What is known of the exposure comes from record.json beside it, when that is there.
 * @throws Failure io; malformed "exr-…"; unsupported "exr-…", "radiance-primaries"; limit; aborted
 */
export async function printRadiance(
  host: Host,
  options: PrintOptions & { readonly radiancePath: string },
): Promise<PrintDocument> {
  const source = await sourceOf(host, options.radiancePath)
  const exr = readExr(source.bytes)
  const planeBytes = exr.width * exr.height * 4 + 128
  const crew = await host.crew(3 * planeBytes + printMemoryBytes(exr.width, exr.height, options.format))
  try {
    const { printed, leftOut } = await printPlanes(host, crew, planesOf(exr, crew.arena), source, options)
    return { schema: 'print/1', prints: [printed], leftOut: leftOut.map((l) => ({ ...l, facts: { ...l.facts } })) }
  } finally {
    await crew.close()
  }
}

async function sourceOf(host: Host, path: string): Promise<PrintSource & { bytes: Uint8Array }> {
  const { files } = host
  const bytes = await files.read(path)
  const folder = files.directoryName(path)
  const stem = files.baseName(path).replace(/\.[^.]+$/, '')
  // In an outing the file is brackets/0007/radiance.exr: the bracket's number is the name.
  const name = stem === 'radiance' ? files.baseName(files.resolve(folder)) || stem : stem
  const beside = files.join(folder, 'record.json')
  const record = (await files.exists(beside)) ? await factsIn(utf8Text(await files.read(beside))) : null
  const reference = record?.reference ?? null
  return {
    bytes,
    file: path,
    sha256: host.sha256(bytes),
    name,
    reference,
    candelaPerSquareMetrePerUnit: record?.scale?.candelaPerSquareMetrePerUnit ?? candelaOfUnit(reference),
  }
}

async function factsIn(text: string | null) {
  const { bracketFactsSchema } = await import('#jobs/schemas')
  try {
    return bracketFactsSchema.parse(JSON.parse(text ?? ''))
  } catch {
    return null
  }
}

/** Approximate luminance of value 1.0, from the reference frame's stated exposure; null when that is not known. */
export function candelaOfUnit(
  reference: Pick<ReferenceFacts, 'exposureSeconds' | 'fNumber' | 'iso'> | null,
): number | null {
  if (!reference) return null
  const { exposureSeconds, fNumber, iso } = reference
  return exposureSeconds && fNumber && iso ? saturationLuminance(fNumber, exposureSeconds, iso) : null
}
