import type { LeftOut } from '#core/base'
import type { ExposureFacts } from '#picture/raw'
import { type CardEntry, type Frame, nameParts, type PictureEntry } from './frame.ts'

/** Raw and JPEG of one exposure carry the same moment; some cameras stamp the JPEG when it is written, seconds later. */
const COMPANION_SECONDS = 4
/** Exposure times of one exposure agree within rounding: 2141/1000000 against 1/467. */
const COMPANION_EXPOSURE_RATIO = 1.15

/**
 * Files into frames: a raw and the JPEG of the same base name (any case, same folder) are one frame; a JPEG alone is a
 * rendered frame. Every entry ends up in exactly one place: as a frame's file, as its companion, or left out.
 * Reasons: `not-a-still`, `second-companion` (another JPEG of the same name already accompanies the raw).
 */
export function pairFiles(entries: readonly CardEntry[]): { frames: Frame[]; leftOut: LeftOut[] } {
  const sorted = [...entries].sort((a, b) => (a.file < b.file ? -1 : a.file > b.file ? 1 : 0))
  const leftOut: LeftOut[] = []
  const byName = new Map<string, PictureEntry[]>()
  for (const entry of sorted) {
    if (entry.kind === 'other') {
      leftOut.push({ what: entry.file, reason: 'not-a-still', facts: {} })
      continue
    }
    const { folder, base } = nameParts(entry.file)
    const key = folder + base.toLowerCase()
    byName.set(key, [...(byName.get(key) ?? []), entry])
  }
  const frames: Frame[] = []
  for (const group of byName.values()) {
    const raws = group.filter((e) => e.kind === 'raw')
    const spare = group.filter((e) => e.kind === 'rendered')
    for (const raw of raws) {
      const at = bestCompanion(raw, spare)
      frames.push(frameOf(raw, at < 0 ? null : spare.splice(at, 1)[0]!.file))
    }
    for (const jpeg of spare) {
      const owner = raws.find((raw) => sameMoment(raw.facts, jpeg.facts))
      if (owner) leftOut.push({ what: jpeg.file, reason: 'second-companion', facts: { raw: owner.file } })
      else frames.push(frameOf(jpeg, null))
    }
  }
  return { frames, leftOut }
}

const frameOf = (entry: PictureEntry, companion: string | null): Frame => ({
  file: entry.file,
  companion,
  source: entry.kind,
  width: entry.width,
  height: entry.height,
  facts: entry.facts,
})

/** The JPEG that goes with a raw: same letter case first, where two raws differ in case only. */
function bestCompanion(raw: PictureEntry, jpegs: readonly PictureEntry[]): number {
  const { base } = nameParts(raw.file)
  const fits = (e: PictureEntry) => sameMoment(raw.facts, e.facts)
  const exact = jpegs.findIndex((e) => nameParts(e.file).base === base && fits(e))
  return exact >= 0 ? exact : jpegs.findIndex(fits)
}

/** False only where the headers contradict each other: a name met again after the camera's counter started anew. */
function sameMoment(a: ExposureFacts, b: ExposureFacts): boolean {
  const secondsA = cameraSeconds(a)
  const secondsB = cameraSeconds(b)
  const exposure = Math.max(a.exposureSeconds ?? 0, b.exposureSeconds ?? 0)
  if (secondsA !== null && secondsB !== null && Math.abs(secondsA - secondsB) > COMPANION_SECONDS + exposure)
    return false
  if (a.exposureSeconds && b.exposureSeconds) {
    const ratio = a.exposureSeconds / b.exposureSeconds
    if (ratio > COMPANION_EXPOSURE_RATIO || ratio < 1 / COMPANION_EXPOSURE_RATIO) return false
  }
  return true
}

/** The camera clock as seconds on one even scale (no zone is assumed); null when the file gives no time. */
export function cameraSeconds({ takenAt }: ExposureFacts): number | null {
  if (takenAt.camera === null) return null
  const milliseconds = Date.parse(`${takenAt.camera}Z`)
  return Number.isFinite(milliseconds) ? milliseconds / 1000 + takenAt.subSecond : null
}
