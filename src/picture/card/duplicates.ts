import type { LeftOut } from '#core/base'
import { type Frame, nameParts } from './frame.ts'
import { cameraSeconds } from './pair.ts'

/**
 * Frames without those that are the same exposure once more: a copy in a subfolder, or "… (1)" beside the original. Only
 * frames whose time is known can be told to be copies: with parts of a second any name will do, else the name must agree.
 * The one kept is a raw before a JPEG, then the least deep in folders, then the first by name. Left out with the reason `same-exposure-again`.
 */
export function withoutCopies(frames: readonly Frame[]): { frames: Frame[]; leftOut: LeftOut[] } {
  const raws = new Set(frames.filter((f) => f.source === 'raw').flatMap((f) => momentKey(f) ?? []))
  const kept = new Map<string, Frame>()
  const leftOut: LeftOut[] = []
  const free: Frame[] = []
  for (const frame of [...frames].sort(plainestFirst)) {
    const key = exposureKey(frame, raws)
    const first = key === null ? undefined : kept.get(key)
    if (first) {
      for (const file of frame.companion === null ? [frame.file] : [frame.file, frame.companion])
        leftOut.push({ what: file, reason: 'same-exposure-again', facts: { first: first.file } })
      continue
    }
    if (key !== null) kept.set(key, frame)
    free.push(frame)
  }
  return { frames: free, leftOut }
}

const depth = (file: string) => file.split(/[\\/]/).length

const plainestFirst = (a: Frame, b: Frame) =>
  (a.source === b.source ? 0 : a.source === 'raw' ? -1 : 1) ||
  depth(a.file) - depth(b.file) ||
  nameParts(a.file).base.length - nameParts(b.file).base.length ||
  (a.file < b.file ? -1 : a.file > b.file ? 1 : 0)

/**
 * Equal for two files of one exposure, and for no others of one camera; null when the file says too little. A camera's
 * JPEG away from its raw counts as the raw once more.
 */
function exposureKey(frame: Frame, raws: ReadonlySet<string>): string | null {
  const moment = momentKey(frame)
  if (moment === null || raws.has(moment)) return moment
  return JSON.stringify([moment, frame.width, frame.height])
}

function momentKey({ file, facts }: Frame): string | null {
  const seconds = cameraSeconds(facts)
  if (seconds === null || facts.exposureSeconds === null) return null
  const name = facts.takenAt.subSecond > 0 ? '' : originalName(file)
  // A raw and its JPEG may write one time differently: 2141/1000000 and 1/467.
  const stops = Math.round(4 * Math.log2(facts.exposureSeconds))
  return JSON.stringify([name, seconds, facts.make, facts.model, stops, facts.iso])
}

/** The base name without what systems add to copies: "A (1)", "A - copy", "A copy 2". */
const originalName = (file: string) =>
  nameParts(file)
    .base.toLowerCase()
    .replace(/ ?\(\d+\)$|[ -]+copy( ?\d+)?$/, '')
