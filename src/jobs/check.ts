import type { LeftOut } from '#core/base'
import { srgbProfile, utf8Text } from '#core/formats'
import { checksumLines } from '#picture/card'
import { type BracketFrame, bracketLevels, type RuleId, rules, type VerdictFrame, verdictOf } from '#picture/measure'
import { type MeasuredFrame, measureFrames } from './check-frames.ts'
import { checkedFrame, flagsOf } from './check-values.ts'
import { adviceWords, type CheckDocument, type Host, reasonWords } from './contract/index.ts'
import { mayReplace } from './documents.ts'
import { type GroupedBracket, type GroupedFrame, group } from './group.ts'
import { requireIds } from './only.ts'
import { findOuting, type Outing } from './outing.ts'
import { exposureStops } from './radiance-raw.ts'

export interface CheckOptions {
  /** Only these brackets, by id, and no single frames; all by default. */
  readonly brackets?: readonly string[]
}

type CheckedBracket = CheckDocument['brackets'][number]
type CheckedFrame = CheckDocument['frames'][number]

const SMALL_QUALITY = 75
/** Brackets from which on a card has a habit, and the share of them that must agree. */
const FEWEST_FOR_HABIT = 3
const HABIT_SHARE = 0.6

/**
 * Measures every frame of an outing or folder and judges its brackets. In an outing it also writes check.json and small
 * pictures below contact/; anywhere else nothing. Files that no longer are what was copied are told.
 * @throws Failure what `group` throws; usage "no-such-bracket"; unsupported "newer-document"
 */
export async function check(host: Host, folder: string, options: CheckOptions = {}): Promise<CheckDocument> {
  const start = host.seconds()
  const { groups } = await group(host, folder)
  const outing = await findOuting(host.files, folder)
  requireIds(
    folder,
    options.brackets,
    groups.brackets.map((b) => b.id),
  )
  const brackets = groups.brackets.filter((b) => options.brackets?.includes(b.id) ?? true)
  const singles = options.brackets ? [] : groups.singles
  if (outing.isOuting) await mayReplace(host.files, documentPath(host, outing), 'check/1')
  const gather = await gatherer(host, outing, brackets, habitOf(groups.brackets))
  const leftOut = [
    ...groups.leftOut,
    ...(await measureFrames(host, [...brackets.flatMap((b) => b.frames), ...singles], gather.take)),
  ]
  const { frames, judged, changed } = gather.end(brackets, singles)
  leftOut.push(...changed)
  const seconds = host.seconds() - start
  const document: CheckDocument = {
    schema: 'check/1',
    outing: folder,
    frames,
    brackets: judged,
    doubts: groups.doubts.map(({ brackets: b, question, evidence }) => ({ brackets: [...b], question, evidence })),
    report: outing.isOuting ? host.files.join(folder, 'check.html') : null,
    seconds: Number(seconds.toFixed(3)),
    leftOut: leftOut.map((l) => ({ ...l, facts: { ...l.facts } })),
  }
  if (outing.isOuting) await host.files.write(documentPath(host, outing), `${JSON.stringify(document, null, 2)}\n`)
  return document
}

const documentPath = (host: Host, outing: Outing) => host.files.join(outing.folder, 'check.json')

/** Frames that most brackets of this card have; null while there are too few to tell. */
function habitOf(brackets: readonly GroupedBracket[]): number | null {
  if (brackets.length < FEWEST_FOR_HABIT) return null
  const counts = new Map<number, number>()
  for (const b of brackets) counts.set(b.frames.length, (counts.get(b.frames.length) ?? 0) + 1)
  const [frames, times] = [...counts].sort((a, b) => b[1] - a[1])[0]!
  return times >= HABIT_SHARE * brackets.length ? frames : null
}

/** Takes measured frames as they come, and judges a bracket as soon as its last frame is there, so that little is held. */
async function gatherer(
  host: Host,
  outing: Outing,
  brackets: readonly GroupedBracket[],
  expectedFrames: number | null,
) {
  const bracketOf = new Map(brackets.flatMap((b) => b.frames.map((f) => [f.file, b] as const)))
  const waiting = new Map<string, MeasuredFrame>()
  const frames = new Map<string, CheckedFrame>()
  const judged = new Map<string, CheckedBracket>()
  const sums = await copiedSums(host, outing)
  const smallPath = await smallPictures(host, outing)
  const changed: LeftOut[] = []

  function judge(bracket: GroupedBracket): void {
    const { frame, document } = judgeBracket(bracket, waiting, expectedFrames)
    judged.set(bracket.id, document)
    for (const f of bracket.frames) {
      const own = frames.get(f.file)
      const more = frame(f.file)
      if (own) frames.set(f.file, { ...own, span: more.span, flags: [...own.flags, ...more.flags] })
      waiting.delete(f.file)
    }
  }

  return {
    async take(measured: MeasuredFrame): Promise<void> {
      const { file } = measured.frame
      const expected = sums.get(outing.relative(file))
      const differs = expected !== undefined && expected !== measured.sha256
      if (differs) changed.push({ what: file, reason: 'changed-since-copied', facts: {} })
      frames.set(file, checkedFrame(measured, await smallPath(measured), differs ? ['changed-since-copied'] : []))
      const bracket = bracketOf.get(file)
      if (!bracket) return
      waiting.set(file, { ...measured, small: { ...measured.small, data: new Uint8Array(0) } })
      if (bracket.frames.every((f) => waiting.has(f.file))) judge(bracket)
    },
    /** Brackets with frames that could not be read are judged on what there is. */
    end(all: readonly GroupedBracket[], singles: readonly GroupedFrame[]) {
      for (const b of all) if (!judged.has(b.id)) judge(b)
      const files = [...all.flatMap((b) => b.frames), ...singles].map((f) => f.file)
      return {
        frames: files.flatMap((file) => frames.get(file) ?? []),
        judged: all.map((b) => judged.get(b.id)!),
        changed,
      }
    },
  }
}

/** SHA-256 by path as the verified copy has listed them; empty when there is no list. */
async function copiedSums({ files }: Host, outing: Outing): Promise<ReadonlyMap<string, string>> {
  const path = files.join(outing.folder, 'checksums.sha256')
  if (!outing.isOuting || !(await files.exists(path))) return new Map()
  const text = utf8Text(await files.read(path)) ?? ''
  return new Map(checksumLines(text).map(({ path: p, sha256 }) => [p, sha256]))
}

/** Writes small pictures into an outing and says where; null anywhere else. */
async function smallPictures(host: Host, outing: Outing): Promise<(m: MeasuredFrame) => Promise<string | null>> {
  if (!outing.isOuting) return async () => null
  const { files } = host
  const folder = files.join(outing.folder, 'contact')
  await files.makeDirectory(folder)
  return async ({ frame, small }) => {
    // Folders of a card may hold equal names: the path below the outing tells them apart.
    const name = outing
      .relative(frame.file)
      .replace(/^originals\//, '')
      .replaceAll('/', '-')
    const path = files.join(folder, `${name}.jpg`)
    await files.write(path, await host.codec.encodeJpeg(small, SMALL_QUALITY, { exif: null, icc: srgbProfile() }))
    return path
  }
}

const ruleOf = (id: RuleId) => rules.find((r) => r.id === id)!

const verdictFrame = (frame: GroupedFrame, measured: MeasuredFrame | undefined): VerdictFrame => ({
  file: frame.file,
  exposureSeconds: frame.facts.exposureSeconds,
  iso: frame.facts.iso,
  exposureStops: exposureStops(frame.facts) ?? Number.NaN,
  smear: measured?.smear.smear ?? null,
  focus: measured?.smear.focus ?? null,
  levels: measured?.levels ?? null,
})

/** Where each of a bracket's frames stands in the scene and what the others show about it; and the verdict on them all. */
function judgeBracket(
  bracket: GroupedBracket,
  measured: ReadonlyMap<string, MeasuredFrame>,
  expectedFrames: number | null,
) {
  const frames = bracket.frames.map((f) => verdictFrame(f, measured.get(f.file)))
  const held = bracket.frames.map((f, k): BracketFrame => {
    const { levels, exposureSeconds, iso, exposureStops: stops } = frames[k]!
    const found = measured.get(f.file)
    const [light, maskedBlackCodes] = [found?.light ?? null, found?.maskedBlackCodes ?? null]
    return { levels, light, exposureSeconds, iso, exposureStops: stops, maskedBlackCodes }
  })
  const levels = bracketLevels(held)
  const { verdict, reasons, best, advice } = verdictOf({
    frames,
    expectedFrames,
    stepStops: bracket.stepStops > 0 ? bracket.stepStops : null,
    driftShare: null,
    levels,
  })
  const known = frames.map((f) => f.exposureStops).filter(Number.isFinite)
  const middle = known.sort((a, b) => a - b)[(known.length - 1) >> 1] ?? 0
  const document: CheckedBracket = {
    id: bracket.id,
    frames: bracket.frames.map((f) => f.file),
    verdict,
    reasons: reasons.map((r) => ({ ...r, words: reasonWords(ruleOf(r.rule), r.value, r.limit) })),
    best: best ?? bracket.reference.file,
    advice: advice.map(adviceWords),
    scene: levels.span && { lowStops: levels.span.bottomStops, highStops: levels.span.topStops },
  }
  return {
    document,
    frame: (file: string) => {
      const k = bracket.frames.findIndex((f) => f.file === file)
      return flagsOf(frames[k]!, levels, k, middle)
    },
  }
}
