import type { ExposureFacts } from '#picture/raw'
import { type ClockStep, steadyClock } from './clock-steps.ts'
import { counterStep, type Frame, fileCounter, nameParts } from './frame.ts'
import { cameraSeconds } from './pair.ts'
import type { Placed } from './placed.ts'

/**
 * Frames as streams, one a camera, each in the order of taking: by camera clock, then by file counter. A frame without
 * a time stands behind its neighbour by name. The order of the input does not matter.
 */
export function captureStreams(frames: readonly Frame[]): { streams: Placed[][]; steps: ClockStep[] } {
  const streams = new Map<string, Placed[]>()
  for (const frame of [...frames].sort(byName)) {
    const camera = `${frame.facts.make ?? ''}|${frame.facts.model ?? ''}`
    const already = streams.get(camera)
    if (already) already.push(place(frame))
    else streams.set(camera, [place(frame)])
  }
  const steady = [...streams.values()].map((stream) => steadyClock(fromRollover(stream)))
  return { streams: steady.map((s) => inOrder(s.frames)), steps: steady.flatMap((s) => s.steps) }
}

function place(frame: Frame): Placed {
  const { facts } = frame
  return {
    frame,
    seconds: cameraSeconds(facts),
    gapUnknown: false,
    orderSeconds: 0,
    clockStepSeconds: facts.takenAt.subSecond > 0 ? 0 : 1,
    counter: fileCounter(frame.file),
    stops: exposureStops(facts),
    known: `t${facts.iso ? 'S' : ''}${facts.fNumber ? 'N' : ''}`,
  }
}

function exposureStops({ exposureSeconds, iso, fNumber }: ExposureFacts): number | null {
  if (!exposureSeconds) return null
  return Math.log2(exposureSeconds) + (iso ? Math.log2(iso / 100) : 0) - (fNumber ? 2 * Math.log2(fNumber) : 0)
}

function inOrder(named: readonly Placed[]): Placed[] {
  let last = named.find((p) => p.seconds !== null)?.seconds ?? 0
  return named
    .map((placed) => {
      last = placed.seconds ?? last
      return { ...placed, orderSeconds: last }
    })
    .sort((a, b) => a.orderSeconds - b.orderSeconds)
}

/** Name order with the counters' rollovers undone, folder by folder: 9998, 9999, 0001, 0002 and not 0001, 0002, 9998, 9999. */
function fromRollover(stream: readonly Placed[]): readonly Placed[] {
  const folders = new Map<string, Placed[]>()
  for (const placed of stream) {
    const { folder } = nameParts(placed.frame.file)
    const already = folders.get(folder)
    if (already) already.push(placed)
    else folders.set(folder, [placed])
  }
  return [...folders.values()].flatMap(rolledBack)
}

function rolledBack(folder: readonly Placed[]): readonly Placed[] {
  const modulus = folder[0]?.counter?.modulus
  if (!modulus || folder.some((p) => p.counter?.modulus !== modulus)) return folder
  let widest = { gap: 0, at: 0 }
  for (let i = 1; i < folder.length; i++) {
    const gap = folder[i]!.counter!.value - folder[i - 1]!.counter!.value
    if (gap > widest.gap) widest = { gap, at: i }
  }
  const over = counterStep(folder.at(-1)!.counter, folder[0]!.counter)
  const rolled = widest.gap > modulus / 2 && over !== null && over > 0 && over < modulus / 20
  return rolled ? [...folder.slice(widest.at), ...folder.slice(0, widest.at)] : folder
}

/** Folder, then base name with runs of digits compared as numbers. */
function byName(a: Frame, b: Frame): number {
  const left = nameParts(a.file)
  const right = nameParts(b.file)
  if (left.folder !== right.folder) return left.folder < right.folder ? -1 : 1
  const partsA = left.base.match(/\d+|\D+/g) ?? []
  const partsB = right.base.match(/\d+|\D+/g) ?? []
  for (let i = 0; i < Math.min(partsA.length, partsB.length); i++) {
    const x = partsA[i]!
    const y = partsB[i]!
    const numeric = Number(x) - Number(y)
    if (Number.isFinite(numeric) && numeric !== 0) return numeric
    if (!Number.isFinite(numeric) && x !== y) return x < y ? -1 : 1
  }
  if (partsA.length !== partsB.length) return partsA.length - partsB.length
  return a.file < b.file ? -1 : a.file > b.file ? 1 : 0
}
