import { Failure, type LeftOut } from '#core/base'
import { type Bracket, type Clock, type Doubt, type Frame, pairFiles, segmentBrackets } from '#picture/card'
import type { FramesDocument, GroupDocument, Host } from './contract/index.ts'
import {
  type AskedCorrections,
  asGiven,
  type Correction,
  corrected,
  isAsked,
  remember,
  rememberedCorrections,
} from './corrections.ts'
import { mayReplace } from './documents.ts'
import { readHeaders } from './headers.ts'
import { filesBelow, findOuting, type Outing } from './outing.ts'

export type { Bracket as GroupedBracket, Frame as GroupedFrame } from '#picture/card'

/** A grouping with every fact of every frame, for the jobs that go on from here. Paths are as the host opens them. */
export interface FrameGroups {
  readonly brackets: readonly Bracket[]
  readonly singles: readonly Frame[]
  readonly doubts: readonly Doubt[]
  /** What the files tell of the camera's clock; null when nothing. */
  readonly clock: Clock | null
  readonly leftOut: readonly LeftOut[]
}

/**
 * Frames and brackets of an outing (its originals) or of any folder with its subfolders. Writes frames.json into an
 * outing, corrections.json when corrections are asked, and nothing anywhere else. An outing's remembered corrections
 * hold for every job that groups it.
 * @throws Failure io (the folder), malformed "no-frames" or "no-readable-frames", unsupported "newer-document" (frames.json
 * or corrections.json of a later version), and what `corrected` refuses
 */
export async function group(
  host: Host,
  folder: string,
  asked: AskedCorrections = {},
): Promise<{ document: GroupDocument; groups: FrameGroups }> {
  const outing = await findOuting(host.files, folder)
  const unlisted: LeftOut[] = []
  const read = await readFrames(host, await filesBelow(host.files, outing, unlisted))
  const leftOut = [...unlisted, ...read.leftOut]
  if (read.frames.length === 0) throw noFrames(folder, leftOut)
  let corrections = asked.forget ? [] : await rememberedCorrections(host, outing, read.frames)
  const grouped = () => groupsOf(read.frames, leftOut, corrections)
  let groups = grouped()
  if (isAsked(asked)) {
    corrections = corrected(folder, groups, corrections, asked)
    groups = grouped()
    if (outing.isOuting) await remember(host, outing, corrections)
  }
  if (outing.isOuting) await writeFrames(host, outing, groups)
  return { document: documentOf(outing, groups, corrections), groups }
}

/** Why there is nothing to work on at `path`: nothing that claims to be a picture, or not one that can be read. */
export function noFrames(path: string, leftOut: readonly LeftOut[]): Failure {
  const unread = leftOut.filter((l) => l.reason !== 'not-a-still')
  const [first] = unread
  if (!first) return new Failure('malformed', 'no-frames', { path })
  const ownFacts = { path, pictures: unread.length, first: first.what, firstReason: first.reason }
  return new Failure('malformed', 'no-readable-frames', { ...first.facts, ...ownFacts })
}

/** The same over a list of files, without corrections. */
export async function groupFiles(host: Host, paths: readonly string[]): Promise<FrameGroups> {
  const { frames, leftOut } = await readFrames(host, paths)
  return groupsOf(frames, leftOut, [])
}

async function readFrames(host: Host, paths: readonly string[]): Promise<{ frames: Frame[]; leftOut: LeftOut[] }> {
  const { entries, leftOut } = await readHeaders(host, paths)
  const paired = pairFiles(entries)
  return { frames: paired.frames, leftOut: [...leftOut, ...paired.leftOut] }
}

function groupsOf(
  frames: readonly Frame[],
  leftOut: readonly LeftOut[],
  corrections: readonly Correction[],
): FrameGroups {
  const grouping = segmentBrackets(frames, asGiven(corrections))
  return { ...grouping, leftOut: [...leftOut, ...grouping.leftOut] }
}

const allFrames = (groups: FrameGroups): Frame[] => [...groups.brackets.flatMap((b) => b.frames), ...groups.singles]

const frameOf = ({ file, companion, facts }: Frame) => ({
  file,
  companion,
  exposureSeconds: facts.exposureSeconds,
  fNumber: facts.fNumber,
  iso: facts.iso,
  takenAt: facts.takenAt,
})

const rounded = (value: number, digits: number) => Number(value.toFixed(digits))

/** Picture sizes by how many frames have them; raw before rendered, large before small where they are as many. */
function modesOf(frames: readonly Frame[]): GroupDocument['modes'] {
  const modes = new Map<string, GroupDocument['modes'][number]>()
  for (const { source, width, height } of frames) {
    const key = `${source} ${width} ${height}`
    const count = (modes.get(key)?.frames ?? 0) + 1
    modes.set(key, { source, width, height, megapixels: rounded((width * height) / 1e6, 1), frames: count })
  }
  return [...modes.values()].sort(
    (a, b) => b.frames - a.frames || (a.source < b.source ? -1 : a.source > b.source ? 1 : b.megapixels - a.megapixels),
  )
}

const documentOf = (outing: Outing, groups: FrameGroups, corrections: readonly Correction[]): GroupDocument => ({
  schema: 'group/1',
  folder: outing.folder,
  frames: allFrames(groups).length,
  brackets: groups.brackets.map((b) => ({
    id: b.id,
    frames: b.frames.map(frameOf),
    reference: b.reference.file,
    stepStops: rounded(b.stepStops, 2),
    confidence: rounded(b.confidence, 3),
    evidence: [...b.evidence],
  })),
  singles: groups.singles.map(frameOf),
  doubts: groups.doubts.map((d) => ({ ...d, brackets: [...d.brackets], frames: [...d.frames] })),
  clock: groups.clock && { ...groups.clock, steps: groups.clock.steps.map((s) => ({ ...s })) },
  modes: modesOf(allFrames(groups)),
  corrections: {
    remembered: outing.isOuting,
    groups: corrections.map((c) => ({ by: c.by, frames: [...c.frames] })),
  },
  leftOut: groups.leftOut.map((l) => ({ ...l, facts: { ...l.facts } })),
})

async function writeFrames(host: Host, outing: Outing, groups: FrameGroups): Promise<void> {
  const path = host.files.join(outing.folder, 'frames.json')
  await mayReplace(host.files, path, 'frames/1')
  const bracketOf = new Map(groups.brackets.flatMap((b) => b.frames.map((f) => [f.file, b.id] as const)))
  const relative = (file: string) => outing.relative(file)
  const document: FramesDocument = {
    schema: 'frames/1',
    frames: allFrames(groups)
      .sort((a, b) => (a.file < b.file ? -1 : 1))
      .map((frame) => ({
        ...frameOf(frame),
        file: relative(frame.file),
        companion: frame.companion === null ? null : relative(frame.companion),
        source: frame.source,
        width: frame.width,
        height: frame.height,
        ev100: frame.facts.ev100,
        attitude: frame.facts.attitude,
        bracket: bracketOf.get(frame.file) ?? null,
      })),
    leftOut: groups.leftOut.map((l) => ({ ...l, what: relative(l.what), facts: { ...l.facts } })),
  }
  await host.files.write(path, `${JSON.stringify(document, null, 2)}\n`)
}
