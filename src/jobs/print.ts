import { Failure, type LeftOut } from '#core/base'
import { readExr, utf8Text } from '#core/formats'
import type { Address, Crew } from '#core/kernels'
import { saturationLuminance } from '#core/sensor'
import {
  keepGroups,
  type NameFacts,
  nameFrom,
  noFacts,
  type PrintFacts,
  removedNames,
  sizeWithin,
} from '#picture/export'
import { chooseLook, measureScene, type PrintSettings, type RadiancePlanes, type Scene } from '#picture/finish'
import type {
  FileSettings,
  Host,
  Pixels8,
  PrintDocument,
  Printed,
  PrintFormat,
  PrintRecord,
  ReferenceFacts,
} from './contract/index.ts'
import { noCredits, type PrintCredits } from './print-credits.ts'
import { endings, makeFile, usualQuality } from './print-files.ts'
import type { FileSource, MadeFile } from './print-made.ts'
import { pixelMemoryBytes, printPixels } from './print-pixels.ts'
import { proofOf } from './print-proof.ts'
import { planesOf } from './radiance-planes.ts'

/** The files to make of a print; whatever is not said takes the default beside it. */
export interface FileWish {
  /** One JPEG. */
  readonly formats?: readonly PrintFormat[]
  /** Of the formats that lose something, 1 … 100; each format's own. */
  readonly quality?: number | null
  /** The picture's own size. */
  readonly longSidePixels?: number | null
  /** "{bracket}". */
  readonly name?: string
  /** All that a print may say. */
  readonly keep?: FileSettings['keep']
  /** Our own. */
  readonly dngCamera?: FileSettings['dngCamera']
}

export interface PrintOptions {
  readonly outDirectory: string
  readonly file?: FileWish
  /** Over what the outing says, which goes over what the frames say. */
  readonly artist?: string | null
  readonly copyright?: string | null
  readonly caption?: string | null
  /** Writes over files that are there and hold something else; by default they are left alone and named. */
  readonly replace?: boolean
  /** Full paths that this run has made already: no two of its prints take one name. */
  readonly taken?: Set<string>
  readonly credits?: PrintCredits
  /** A smaller copy for looking at: called with the pixels of an 8-bit print while they are encoded. */
  readonly copy?: (pixels: Pixels8) => Promise<void>
  /** Three bytes a pixel of the crew's memory for the pixels of an 8-bit print; newly allocated by default. */
  readonly room?: Address | null
  /** Starts other work of the crew, if there is any, for the while that the print is measured on one thread. */
  readonly besides?: () => Promise<void>
  /** The look; by default chosen from the picture. */
  readonly look?: PrintSettings
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
  readonly printed: readonly Printed[]
  readonly leftOut: readonly LeftOut[]
}

const usualFormats: readonly PrintFormat[] = ['jpeg']

/** Shared memory that `printPlanes` needs beyond the planes themselves. */
export const printMemoryBytes = (
  width: number,
  height: number,
  { formats = usualFormats, longSidePixels = null }: FileWish = {},
): number => pixelMemoryBytes(width, height, formats, longSidePixels !== null)

/** Each file's settings, with the defaults filled in. */
function settingsOf(wish: FileWish): FileSettings[] {
  return (wish.formats ?? usualFormats).map((format) => {
    const usual = usualQuality(format)
    return {
      format,
      quality: usual === null ? null : (wish.quality ?? usual),
      longSidePixels: wish.longSidePixels ?? null,
      name: wish.name ?? '{bracket}',
      keep: [...(wish.keep ?? keepGroups)],
      dngCamera: wish.dngCamera ?? 'own',
    }
  })
}

/**
 * A print of the planes as one file or more, each with its record, all written whole or not at all. The planes stay as they
 * are and the arena is given back. A file of that name with other content is left alone and named in `leftOut`, unless it
 * is to be replaced.
 * @throws Failure io; usage "name-word", "name-empty", "name-folder", "print-over-source"; limit "out-of-memory"; aborted
 */
export async function printPlanes(
  host: Host,
  crew: Crew,
  planes: RadiancePlanes,
  source: PrintSource,
  options: PrintOptions,
): Promise<PrintResult> {
  const settings = settingsOf(options.file ?? {})
  const facts = factsOf(source, options)
  const name = nameFrom(settings[0]?.name ?? '', nameFacts(source, facts, options, planes))
  const stage = `print ${name}`
  const total = 1 + 2 * settings.length
  host.progress({ stage, done: 0, total })
  const mark = crew.arena.mark()
  try {
    const scene = await measureScene(crew, planes, options.besides)
    const { candelaPerSquareMetrePerUnit } = source
    const look = options.look ?? chooseLook(scene, { candelaPerSquareMetrePerUnit })
    const longSide = settings[0]?.longSidePixels ?? null
    const pixels = printPixels(crew, planes, scene, look, longSide, options.room ?? null)
    const from: FileSource = { host, arena: crew.arena, planes, pixels, facts, candelaPerSquareMetrePerUnit }
    const printed: Printed[] = []
    const leftOut: LeftOut[] = []
    for (const [i, own] of settings.entries()) {
      const made = await makeFile(from, own, options.copy ?? null)
      host.throwIfStopped()
      host.progress({ stage, done: 1 + 2 * i, total })
      const file = host.files.join(options.outDirectory, name + endings[own.format])
      const refusal = await write(host, file, made.bytes, source.file, options)
      if (refusal) {
        leftOut.push(refusal)
        continue
      }
      const about = { crew, scene, look, settings: own, source, planes }
      const print = await proven(host, file, made, about)
      printed.push(print)
      if (!print.proof.ok) leftOut.push({ what: file, reason: 'print-proof-failed', facts: {} })
      host.progress({ stage, done: 2 + 2 * i, total })
    }
    host.progress({ stage, done: total, total })
    return { printed, leftOut }
  } finally {
    crew.arena.release(mark)
  }
}

/** Writes the file, or says why it is left alone: another one of its name is there. The same bytes are no other one. */
async function write(
  { files }: Host,
  file: string,
  bytes: Uint8Array,
  source: string,
  { outDirectory, replace = false, taken }: PrintOptions,
): Promise<LeftOut | null> {
  const whole = files.resolve(file)
  if (whole === files.resolve(source)) throw new Failure('usage', 'print-over-source', { path: file })
  if (taken?.has(whole)) return { what: file, reason: 'print-name-taken', facts: {} }
  await files.makeDirectory(outDirectory)
  if (!replace && (await files.exists(file))) {
    if (!(await holdsThe(files, file, bytes))) return { what: file, reason: 'print-there', facts: {} }
  } else await files.write(file, bytes, { replace })
  taken?.add(whole)
  return null
}

async function holdsThe(files: Host['files'], file: string, bytes: Uint8Array): Promise<boolean> {
  if ((await files.isDirectory(file)) || (await files.size(file)) !== bytes.length) return false
  const there = await files.read(file)
  return there.every((b, i) => b === bytes[i])
}

interface About {
  readonly crew: Crew
  readonly scene: Scene
  readonly look: PrintSettings
  readonly settings: FileSettings
  readonly source: PrintSource
  readonly planes: RadiancePlanes
}

/** Reads the file from disk again, holds pixels and metadata against what was meant, and writes the record. */
async function proven(host: Host, file: string, made: MadeFile, about: About): Promise<Printed> {
  const { settings, source, scene, look, crew, planes } = about
  const record = `${file}.record.json`
  const kept = [...made.kept]
  const removed = removedNames(settings.keep)
  const found = await host.files.read(file)
  const proof = await proofOf(made, settings.format, found)
  const written: PrintRecord = {
    schema: 'print-record/2',
    print: { file: host.files.baseName(file), sha256: host.sha256(found), width: made.width, height: made.height },
    from: { file: source.file, sha256: source.sha256, width: planes.width, height: planes.height },
    program: { version: host.version, kernels: crew.kernels },
    settings: { look: { ...look, rungs: look.rungs.map((r) => ({ ...r })) }, file: settings },
    figures: { ...made.figures },
    scene: { ...scene.statistics },
    candelaPerSquareMetrePerUnit: source.candelaPerSquareMetrePerUnit,
    removed,
    kept,
    proof,
  }
  await host.files.write(record, `${JSON.stringify(written, null, 2)}\n`)
  return {
    file,
    from: source.file,
    record,
    width: made.width,
    height: made.height,
    format: settings.format,
    profile: made.profile,
    bytes: made.bytes.length,
    removed,
    kept,
    proof,
  }
}

function factsOf({ name, reference }: PrintSource, options: PrintOptions): PrintFacts {
  const credits = options.credits ?? noCredits
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
    artist: options.artist ?? credits.author ?? reference?.artist ?? null,
    copyright: options.copyright ?? credits.copyright ?? reference?.copyright ?? null,
    caption: options.caption ?? credits.captionOf(name) ?? reference?.caption ?? null,
  }
}

function nameFacts(source: PrintSource, facts: PrintFacts, options: PrintOptions, planes: RadiancePlanes): NameFacts {
  const [date = null, time = null] = facts.takenAtCamera?.split('T') ?? []
  const size = sizeWithin(planes, options.file?.longSidePixels ?? null)
  return {
    bracket: source.name,
    date,
    time: time?.replaceAll(':', '.') ?? null,
    title: options.credits?.title ?? null,
    author: facts.artist,
    size: String(Math.max(size.width, size.height)),
  }
}

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
  const crew = await host.crew(3 * planeBytes + printMemoryBytes(exr.width, exr.height, options.file))
  try {
    const { printed, leftOut } = await printPlanes(host, crew, planesOf(exr, crew.arena), source, options)
    return { schema: 'print/1', prints: [...printed], leftOut: leftOut.map((l) => ({ ...l, facts: { ...l.facts } })) }
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
