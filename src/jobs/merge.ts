import { Failure, type FailureKind, type LeftOut } from '#core/base'
import type { Crew } from '#core/kernels'
import { type Bracket, type Frame, nameParts } from '#picture/card'
import type { Host, MergeDocument, MergedBracket, Printed } from './contract/index.ts'
import { type FrameGroups, group, groupFiles, noFrames } from './group.ts'
import { requireIds } from './only.ts'
import { findOuting } from './outing.ts'
import { type PrintOptions, printPlanes } from './print.ts'
import { creditsOf } from './print-credits.ts'
import { candelaPerUnit, planesIn, previewOfPrint, writeRadiance } from './radiance-files.ts'
import { mergeRawBracket } from './radiance-raw.ts'
import { mergeRenderedBracket } from './radiance-rendered.ts'
import type { RadianceImage } from './radiance-types.ts'

export interface MergeOptions {
  /** Where the products go; by default brackets/ in an outing, else a folder "brackets" where the frames are. */
  readonly out?: string
  /** Only these brackets, by id; all by default. */
  readonly brackets?: readonly string[]
  /** Called with each radiance image while it is in memory. */
  readonly withImage?: (image: RadianceImage, bracket: MergedBracket) => Promise<void>
  /** Prints of every bracket in the same go, from the image in memory. */
  readonly print?: Omit<PrintOptions, 'outDirectory'> & { readonly outDirectory?: string }
}

/** One crew for bracket after bracket; laid out anew only when one needs more memory. */
export function crewKeeper(host: Host) {
  let current: Crew | null = null
  let bytes = 0
  let base = 0
  return {
    async of(wanted: number): Promise<Crew> {
      if (!current || wanted > bytes) {
        await current?.close()
        current = await host.crew(wanted)
        bytes = wanted
        base = current.arena.mark()
      }
      current.arena.release(base)
      return current
    },
    close: async () => current?.close(),
  }
}

/**
 * Loose files given by hand are one bracket, whatever their times say; the user has chosen. It is called by its first
 * frame's name, so that it cannot be taken for a bracket that was found.
 */
function asOneBracket(groups: FrameGroups, first: string): { bracket: Bracket; leftOut: LeftOut[] } {
  const frames = [...groups.brackets.flatMap((b) => b.frames), ...groups.singles]
  if (frames.length === 0) throw noFrameGiven(groups, first)
  const exposure = (f: Frame) => (f.facts.exposureSeconds ?? 0) * (f.facts.iso ?? 100)
  const raws = frames.filter((f) => f.source === 'raw')
  const chosen = raws.length > 0 ? raws : frames
  const order = [...chosen].sort((a, b) => exposure(a) - exposure(b))
  const bracket = {
    id: nameParts(chosen[0]!.file).base,
    frames: chosen,
    reference: order[(order.length - 1) >> 1]!,
    stepStops: 0,
    confidence: 1,
    evidence: ['given by hand'],
  }
  const beside = frames.filter((f) => !chosen.includes(f))
  return { bracket, leftOut: beside.map((f) => ({ what: f.file, reason: 'rendered-beside-raw', facts: {} })) }
}

/** A single file given by hand fails for its own reason. */
function noFrameGiven({ leftOut }: FrameGroups, first: string): Failure {
  const [only, ...others] = leftOut
  const kind = only?.facts['kind']
  if (only && others.length === 0 && typeof kind === 'string')
    return new Failure(kind as FailureKind, only.reason, { ...only.facts, path: only.what })
  return noFrames(first, leftOut)
}

/** Where a frame given by hand has its products: in its folder, but never among the originals of an outing. */
function homeOf({ files }: Host, frame: string): string {
  const folder = files.directoryName(files.resolve(frame))
  return files.baseName(folder) === 'originals' ? files.directoryName(folder) : folder
}

/** The paths as given, each file once. */
function onlyOnce({ files }: Host, paths: readonly string[]): string[] {
  const seen = new Set<string>()
  return paths.filter((path) => {
    const whole = files.resolve(path)
    return !seen.has(whole) && seen.add(whole)
  })
}

/** Merges one bracket into its folder, and prints it when that is asked for. */
async function mergeOne(
  host: Host,
  keeper: ReturnType<typeof crewKeeper>,
  bracket: Bracket,
  folder: string,
  options: MergeOptions,
) {
  const start = host.seconds()
  const rendered = bracket.reference.source === 'rendered'
  const image = rendered
    ? await mergeRenderedBracket(host, keeper.of, bracket.frames, bracket.reference)
    : await mergeRawBracket(host, keeper.of, bracket.frames, bracket.reference)
  const leftOut: LeftOut[] = [...image.leftOut]
  const prints: Printed[] = []
  const print = async (besides: () => Promise<void>) => {
    if (!options.print) return null
    const source = {
      file: host.files.join(folder, 'radiance.exr'),
      sha256: null,
      name: bracket.id,
      reference: image.used[image.reference]!.facts,
      candelaPerSquareMetrePerUnit: candelaPerUnit(image),
    }
    const outDirectory =
      options.print.outDirectory ??
      host.files.join(host.files.directoryName(host.files.directoryName(host.files.resolve(folder))), 'prints')
    let preview: Uint8Array | null = null
    const result = await printPlanes(host, image.crew, planesIn(image), source, {
      ...options.print,
      outDirectory,
      besides,
      // Memory that was used before costs no new pages.
      room: image.spare,
      copy: async (pixels) => {
        preview = await previewOfPrint(host, pixels)
      },
    })
    prints.push(...result.printed)
    leftOut.push(...result.leftOut)
    return preview
  }
  const merged = await writeRadiance(host, image, folder, bracket.id, () => host.seconds() - start, print)
  await options.withImage?.(image, merged)
  image.merged.frames.forEach((f, k) => {
    if (!f.motion.found)
      leftOut.push({ what: image.used[k]!.file, reason: 'motion-not-found', facts: { bracket: bracket.id } })
  })
  return { merged, prints, leftOut }
}

/**
 * Radiance images of every bracket of an outing or folder, or of one bracket given as files. A bracket that cannot be
 * merged is left out by name and does not stop the others.
 * @throws Failure usage "nothing-to-merge", "one-folder", "no-such-bracket"; malformed "no-frames", "no-brackets"; and the first bracket's own failure when none could be merged
 */
export async function merge(host: Host, given: readonly string[], options: MergeOptions = {}): Promise<MergeDocument> {
  const paths = onlyOnce(host, given)
  const [first] = paths
  if (first === undefined) throw new Failure('usage', 'nothing-to-merge')
  host.prepareCrew?.()
  const folderGiven = paths.length === 1 && (await host.files.isDirectory(first))
  for (const path of folderGiven ? [] : paths)
    if (await host.files.isDirectory(path)) throw new Failure('usage', 'one-folder', { path })
  const groups = folderGiven ? (await group(host, first)).groups : await groupFiles(host, paths)
  const byHand = folderGiven ? null : asOneBracket(groups, first)
  const all = byHand ? [byHand.bracket] : groups.brackets
  requireIds(
    first,
    options.brackets,
    all.map((b) => b.id),
  )
  const brackets = all.filter((b) => options.brackets?.includes(b.id) ?? true)
  const home = folderGiven ? (await findOuting(host.files, first)).folder : homeOf(host, first)
  if (brackets.length === 0)
    throw new Failure('malformed', 'no-brackets', { path: first, frames: groups.singles.length })
  const out = options.out ?? host.files.join(home, 'brackets')
  const said = options.print ? await creditsOf(host, home) : null
  const print = options.print && {
    taken: new Set<string>(),
    ...(said ? { credits: said.credits } : {}),
    ...options.print,
  }

  const keeper = crewKeeper(host)
  const done: MergedBracket[] = []
  const prints: Printed[] = []
  const leftOut: LeftOut[] = [...groups.leftOut, ...(byHand?.leftOut ?? []), ...(said?.leftOut ?? [])]
  let failure: Failure | null = null
  try {
    for (const bracket of brackets) {
      host.throwIfStopped()
      try {
        const result = await mergeOne(host, keeper, bracket, host.files.join(out, bracket.id), {
          ...options,
          ...(print ? { print } : {}),
        })
        done.push(result.merged)
        prints.push(...result.prints)
        leftOut.push(...result.leftOut)
      } catch (error) {
        if (!(error instanceof Failure) || error.kind === 'aborted') throw error
        failure ??= error
        leftOut.push({ what: `bracket ${bracket.id}`, reason: error.code, facts: { kind: error.kind, ...error.facts } })
      }
    }
  } finally {
    await keeper.close()
  }
  if (done.length === 0 && failure) throw failure
  return { schema: 'merge/1', brackets: done, prints, leftOut: leftOut.map((l) => ({ ...l, facts: { ...l.facts } })) }
}
