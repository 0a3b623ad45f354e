import { Failure } from '#core/base'
import { utf8Text } from '#core/formats'
import { type Bracket, type Frame, type GivenGroup, nameParts } from '#picture/card'
import type { CorrectionsDocument, Host } from './contract/index.ts'
import { mayReplace } from './documents.ts'
import type { Outing } from './outing.ts'

/** What a photographer asks to be changed in a grouping; brackets by their number in the grouping as it stands. */
export interface AskedCorrections {
  /** Each: brackets by number, or frames by name, that are one bracket. */
  readonly join?: readonly (readonly string[])[]
  /** Brackets that end before a frame, by its name. */
  readonly split?: readonly { readonly bracket: string; readonly before: string }[]
  /** Earlier corrections are dropped first. */
  readonly forget?: boolean
}

export const isAsked = ({ join, split, forget }: AskedCorrections) =>
  (join?.length ?? 0) > 0 || (split?.length ?? 0) > 0 || forget === true

/** The part of a grouping that corrections speak of. */
interface Grouped {
  readonly brackets: readonly Bracket[]
  readonly singles: readonly Frame[]
}

/** A settled group: the paths of its frames as the host opens them, and how it came about. */
export interface Correction {
  readonly by: 'join' | 'split'
  readonly frames: readonly string[]
}

const SCHEMA = 'corrections/1'
const pathOf = (host: Host, outing: Outing) => host.files.join(outing.folder, 'corrections.json')

export const asGiven = (corrections: readonly Correction[]): GivenGroup[] =>
  corrections.map(({ by, frames }) => ({ files: frames, words: by === 'join' ? 'joined by you' : 'split by you' }))

/**
 * The corrections that an outing remembers, as far as their frames are still there. A frame is known by its path in the
 * outing without the extension, so that it stays known when the raw file joins its JPEG.
 * @throws Failure malformed "corrections-unreadable", unsupported "newer-document"
 */
export async function rememberedCorrections(
  host: Host,
  outing: Outing,
  frames: readonly Frame[],
): Promise<Correction[]> {
  const path = pathOf(host, outing)
  if (!outing.isOuting || !(await host.files.exists(path))) return []
  await mayReplace(host.files, path, SCHEMA)
  const document = await readDocument(host, path)
  const fileOf = new Map(frames.map((f) => [withoutExtension(outing.relative(f.file)), f.file]))
  return document.groups
    .map(({ by, frames }) => ({ by, frames: frames.flatMap((name) => fileOf.get(withoutExtension(name)) ?? []) }))
    .filter((c) => c.frames.length > 0)
}

async function readDocument(host: Host, path: string): Promise<CorrectionsDocument> {
  const { correctionsSchema } = await import('#jobs/schemas')
  let content: unknown = null
  try {
    content = JSON.parse(utf8Text(await host.files.read(path)) ?? '')
  } catch (error) {
    if (error instanceof Failure) throw error
  }
  const { data } = correctionsSchema.safeParse(content)
  if (!data) throw new Failure('malformed', 'corrections-unreadable', { path })
  return data
}

const withoutExtension = (file: string) => {
  const { folder, base } = nameParts(file)
  return `${folder}${base}`.toLowerCase()
}

/** Writes down the corrections, or takes the document away where there are none. */
export async function remember(host: Host, outing: Outing, corrections: readonly Correction[]): Promise<void> {
  const path = pathOf(host, outing)
  await mayReplace(host.files, path, SCHEMA)
  if (corrections.length === 0) {
    if (await host.files.exists(path)) await host.files.remove(path)
    return
  }
  const document: CorrectionsDocument = {
    schema: SCHEMA,
    groups: corrections.map(({ by, frames }) => ({ by, frames: frames.map((file) => outing.relative(file)) })),
  }
  await host.files.write(path, `${JSON.stringify(document, null, 2)}\n`)
}

/**
 * Corrections after what was asked, the newer winning where two speak of one frame.
 * @throws Failure usage "no-such-bracket", "no-such-frame", "frame-name-unclear", "join-too-few", "join-differs",
 * "frame-not-in-bracket", "split-before-first"
 */
export function corrected(
  path: string,
  groups: Grouped,
  earlier: readonly Correction[],
  asked: AskedCorrections,
): Correction[] {
  let corrections = [...earlier]
  const settle = (by: Correction['by'], frames: readonly Frame[]) => {
    const files = new Set(frames.map((f) => f.file))
    corrections = corrections
      .map((c) => ({ ...c, frames: c.frames.filter((file) => !files.has(file)) }))
      .filter((c) => c.frames.length > 0)
    corrections.push({ by, frames: [...files] })
  }
  for (const parts of asked.join ?? []) settle('join', joined(path, groups, parts))
  for (const { bracket: id, before } of asked.split ?? []) {
    const bracket = bracketOf(path, groups, id)
    const at = placeIn(path, bracket, before)
    settle('split', bracket.frames.slice(0, at))
    settle('split', bracket.frames.slice(at))
  }
  return corrections
}

function bracketOf(path: string, { brackets }: Grouped, id: string): Bracket {
  const bracket = brackets.find((b) => b.id === id)
  if (!bracket) throw new Failure('usage', 'no-such-bracket', { path, wanted: id, found: brackets.map((b) => b.id) })
  return bracket
}

function joined(path: string, groups: Grouped, parts: readonly string[]): Frame[] {
  if (new Set(parts).size < 2) throw new Failure('usage', 'join-too-few', { path, found: [...parts] })
  const frames = parts.flatMap((part) => {
    const bracket = groups.brackets.find((b) => b.id === part)
    return bracket ? bracket.frames : [frameNamed(path, groups, part)]
  })
  const first = frames[0]!
  const modeOf = ({ width, height, source, facts }: Frame) =>
    JSON.stringify([width, height, source, facts.make, facts.model])
  const other = frames.find((f) => modeOf(f) !== modeOf(first))
  if (other) throw new Failure('usage', 'join-differs', { path, first: nameOf(first), other: nameOf(other) })
  return frames
}

function frameNamed(path: string, groups: Grouped, wanted: string): Frame {
  const frames = [...groups.brackets.flatMap((b) => b.frames), ...groups.singles]
  const found = frames.filter((f) => isNamed(f, wanted))
  if (found.length === 1) return found[0]!
  // Digits alone are more likely a bracket's number than a frame's name.
  if (found.length === 0 && /^\d+$/.test(wanted)) bracketOf(path, groups, wanted)
  if (found.length === 0) throw new Failure('usage', 'no-such-frame', { path, wanted })
  throw new Failure('usage', 'frame-name-unclear', { path, wanted, found: found.map((f) => f.file) })
}

function placeIn(path: string, bracket: Bracket, wanted: string): number {
  const found = bracket.frames.flatMap((f, i) => (isNamed(f, wanted) ? [i] : []))
  if (found.length > 1)
    throw new Failure('usage', 'frame-name-unclear', { path, wanted, found: found.map((i) => bracket.frames[i]!.file) })
  const at = found[0]
  if (at === undefined)
    throw new Failure('usage', 'frame-not-in-bracket', {
      path,
      wanted,
      bracket: bracket.id,
      found: bracket.frames.map(nameOf),
    })
  if (at === 0) throw new Failure('usage', 'split-before-first', { path, wanted, bracket: bracket.id })
  return at
}

const nameOf = ({ file }: Frame) => file.split(/[\\/]/).at(-1)!

/** By name with or without extension, or by the end of the path; letter case aside. */
function isNamed({ file, companion }: Frame, wanted: string): boolean {
  const name = wanted.replaceAll('\\', '/').toLowerCase()
  return [file, companion].some((path) => {
    if (path === null) return false
    const whole = `/${path.replaceAll('\\', '/').toLowerCase()}`
    return whole.endsWith(`/${name}`) || withoutExtension(whole).endsWith(`/${name}`)
  })
}
