import { fitLine, type LeftOut } from '#core/base'
import { readExr, utf8Text } from '#core/formats'
import { floatFromHalf } from '#core/kernels'
import { check } from './check.ts'
import type { CheckDocument, DemoBracket, DemoDocument, Host, MergedBracket } from './contract/index.ts'
import { type DemoBracketFiles, type DemoOutingOptions, writeDemoOuting } from './demo-outing.ts'
import { merge } from './merge.ts'
import { print } from './print-outing.ts'

/** What of truth.json the comparison needs. */
interface Truth {
  readonly frames: readonly {
    readonly file: string
    readonly ratioStops: number
    readonly shift: { readonly x: number; readonly y: number }
    readonly rotationDegrees: number
  }[]
}

const BLOCK = 8
/** Edge of the picture that not all frames see. */
const MARGIN = 32

/** Found motion against the true one, over the frames that were used. */
function motionErrors(truth: Truth, merged: MergedBracket, baseName: (path: string) => string) {
  let squares = 0
  let n = 0
  let turn = 0
  for (const frame of merged.frames) {
    const true_ = truth.frames.find((f) => f.file === baseName(frame.file))
    if (!true_ || !frame.shift || frame.file === merged.reference) continue
    squares += (frame.shift.x - true_.shift.x) ** 2 + (frame.shift.y - true_.shift.y) ** 2
    turn = Math.max(turn, Math.abs((frame.rotationDegrees ?? 0) - true_.rotationDegrees))
    n++
  }
  return n > 0 ? { shift: Math.sqrt(squares / n), turn } : { shift: null, turn: null }
}

/** Green of a radiance file as halves, or null when it is not of that kind. */
async function green(host: Host, path: string) {
  const { width, height, channels } = readExr(await host.files.read(path))
  const samples = channels.find((c) => c.name === 'G' && c.type === 'half')?.samples
  return samples ? { width, height, samples } : null
}

/**
 * Merged green against the true one: means of 8×8 blocks, of those that no frame clipped, weighted as shot noise asks.
 * `ceiling`: the brightest that the least exposed frame could record.
 */
async function radianceLine(host: Host, merged: string, truth: string, ceiling: number) {
  const [a, b] = [await green(host, truth), await green(host, merged)]
  if (!a || !b || a.width !== b.width || a.height !== b.height) return null
  const x: number[] = []
  const y: number[] = []
  for (let top = MARGIN; top + BLOCK <= a.height - MARGIN; top += BLOCK) {
    for (let left = MARGIN; left + BLOCK <= a.width - MARGIN; left += BLOCK) {
      let [s, t, most] = [0, 0, 0]
      for (let j = 0; j < BLOCK; j++) {
        for (let i = 0; i < BLOCK; i++) {
          const at = (top + j) * a.width + left + i
          const v = floatFromHalf(a.samples[at]!)
          s += v
          t += floatFromHalf(b.samples[at]!)
          if (v > most) most = v
        }
      }
      if (most > 0.5 * ceiling || s <= 0) continue
      x.push(s / BLOCK ** 2)
      y.push(t / BLOCK ** 2)
    }
  }
  return x.length > 100
    ? fitLine(
        x,
        y,
        x.map((v) => 1 / v),
      )
    : null
}

async function compare(
  host: Host,
  made: DemoBracketFiles,
  merged: MergedBracket | undefined,
  printFile: string | null,
): Promise<DemoBracket> {
  const base = { id: made.id, scene: made.scene, frames: made.frames.length, width: made.width, height: made.height }
  if (!merged) {
    const nothing = {
      shiftErrorPixelsRms: null,
      rotationErrorDegrees: null,
      radianceSlope: null,
      radianceIntercept: null,
      noiseOverBound: null,
    }
    return { ...base, ...nothing, preview: null, print: null, seconds: 0, leftOut: [] }
  }
  const truth = JSON.parse(utf8Text(await host.files.read(made.truth)) ?? '{}') as Truth
  const motion = motionErrors(truth, merged, host.files.baseName)
  const ceiling = 2 ** -Math.min(...truth.frames.map((f) => f.ratioStops))
  const line = await radianceLine(host, merged.radiance, made.radiance, ceiling)
  return {
    ...base,
    shiftErrorPixelsRms: motion.shift,
    rotationErrorDegrees: motion.turn,
    radianceSlope: line?.slope ?? null,
    radianceIntercept: line?.intercept ?? null,
    noiseOverBound: null,
    preview: merged.preview,
    print: printFile,
    seconds: merged.seconds,
    leftOut: merged.frames.filter((f) => !f.used).map((f) => ({ what: f.file, reason: f.reason ?? '', facts: {} })),
  }
}

/**
 * The whole job on a demonstration outing whose truth is known: written, checked, merged, printed, and held against the
 * truth. The report, the
 * contact report of `checked` and the evening's pages are the caller's to write; their paths are in the document.
 * @throws Failure io "folder-not-empty", and whatever the jobs throw
 */
export async function demo(
  host: Host,
  directory: string,
  options: DemoOutingOptions = {},
): Promise<{ document: DemoDocument; checked: CheckDocument }> {
  const start = host.seconds()
  const outing = await writeDemoOuting(host, directory, options)
  const checked = await check(host, directory)
  const merged = await merge(host, [directory])
  const prints = await print(host, directory, { replace: true })
  const leftOut: LeftOut[] = [...merged.leftOut, ...prints.leftOut]
  const brackets: DemoBracket[] = []
  for (const [i, made] of outing.brackets.entries()) {
    host.throwIfStopped()
    host.progress({ stage: 'Comparing with the truth', done: i, total: outing.brackets.length })
    const found = merged.brackets.find(
      (b) => b.reference === made.reference || host.files.resolve(b.reference) === host.files.resolve(made.reference),
    )
    if (!found) leftOut.push({ what: `bracket ${made.id}`, reason: 'not-merged', facts: {} })
    const printed = prints.prints.find((p) => found && p.from === found.radiance)
    brackets.push(await compare(host, made, found, printed?.file ?? null))
  }
  const document: DemoDocument = {
    schema: 'demo/1',
    outing: outing.outing,
    truth: outing.truth,
    report: host.files.join(directory, 'report.html'),
    card: host.files.join(directory, 'field-card.html'),
    contact: checked.report,
    pictures: prints.prints.map((p) => p.file),
    seconds: host.seconds() - start,
    brackets,
    leftOut: leftOut.map((l) => ({ ...l, facts: { ...l.facts } })),
  }
  return { document, checked }
}
