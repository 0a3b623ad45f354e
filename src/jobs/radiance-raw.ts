import { type Facts, Failure, type LeftOut, malformed } from '#core/base'
import { cameraToLinearSrgb, neutralGainsOnly } from '#core/colour'
import { EXR_ROW_HEAD_BYTES } from '#core/formats'
import type { Address, Crew } from '#core/kernels'
import { cfaName, orientedSize } from '#core/pixels'
import { estimateNoise, noisePlanes } from '#core/sensor'
import type { Frame } from '#picture/card'
import { demosaic, toWorkingColours, uprightPlane } from '#picture/finish'
import { type FrameNoise, type MergeFrame, mergeFrames, takeInMosaics, takeInPlanes } from '#picture/merge'
import type { DecodeJob, ExposureFacts, RawFile } from '#picture/raw'
import { applyGainMaps, applyStoredGainMaps, correctLens } from '#picture/shading'
import type { Host } from './contract/index.ts'
import { decodeBatch } from './decode-batch.ts'
import { bytesNeeded, FILE_BATCH_BYTES, layPool } from './radiance-memory.ts'
import type { InputFile, RadianceImage } from './radiance-types.ts'
import { seeFile } from './see-file.ts'

/** A frame whose header was understood. */
interface SeenFrame {
  readonly frame: Frame
  readonly raw: RawFile
  readonly bytes: number
}

const leave = (what: string, reason: string, facts: Facts = {}): LeftOut => ({ what, reason, facts })

/** What must be the same in all frames of a bracket; null when it is. */
function mismatch(a: RawFile, b: RawFile): LeftOut['facts'] | null {
  const of = (r: RawFile) => ({
    size: `${r.activeArea.width}×${r.activeArea.height}`,
    samples: r.samples,
    pattern: r.cfa ? cfaName(r.cfa) : '',
  })
  const [x, y] = [of(a), of(b)]
  const differs = x.size !== y.size || x.samples !== y.samples || x.pattern !== y.pattern
  return differs ? { size: y.size, samples: y.samples, referenceSize: x.size, referenceSamples: x.samples } : null
}

/** Light recorded by a frame, in stops, from its tags; null when time or ISO is not known. */
export function exposureStops(f: {
  exposureSeconds: number | null
  iso: number | null
  fNumber: number | null
}): number | null {
  if (f.exposureSeconds === null) return null
  return Math.log2(f.exposureSeconds) + Math.log2((f.iso ?? 100) / 100) - (f.fNumber ? 2 * Math.log2(f.fNumber) : 0)
}

/** Grouping has read the header already, as a rule. */
const isRaw = (facts: ExposureFacts): facts is RawFile => 'segments' in facts

/** Headers of the frames; those that cannot be read or do not fit the reference are left out by name. */
async function seeFrames(
  host: Host,
  frames: readonly Frame[],
  reference: Frame,
): Promise<{ seen: SeenFrame[]; leftOut: LeftOut[] }> {
  const seen: SeenFrame[] = []
  const leftOut: LeftOut[] = []
  for (const frame of frames) {
    try {
      const { facts } = frame
      const description = isRaw(facts) ? facts : (await seeFile(host.files, frame.file)).description
      if (description instanceof Failure) throw description
      if (description.kind !== 'dng') throw new Failure('unsupported', 'not-a-raw-file', {})
      seen.push({ frame, raw: description, bytes: await host.files.size(frame.file) })
    } catch (error) {
      if (!(error instanceof Failure)) throw error
      leftOut.push(leave(frame.file, error.code, error.facts))
    }
  }
  const master = seen.find((s) => s.frame.file === reference.file) ?? seen[0]
  const kept = seen.filter(({ frame, raw }) => {
    const facts = master ? mismatch(master.raw, raw) : null
    if (facts) leftOut.push(leave(frame.file, 'differs-from-reference', facts))
    else if (exposureStops(raw) === null && seen.length > 1) leftOut.push(leave(frame.file, 'exposure-unknown'))
    else return true
    return false
  })
  return { seen: kept, leftOut }
}

/** A frame whose bytes stand in memory, and what decoding it takes. */
interface LoadedFrame {
  readonly seen: SeenFrame
  readonly job: DecodeJob
  readonly sha256: string
}

/** Frames in runs of at most FILE_BATCH_BYTES each; the first alone, so that the threads have something to decode soon. */
function inBatches(seen: readonly SeenFrame[]): SeenFrame[][] {
  const batches: SeenFrame[][] = []
  let bytes = Number.POSITIVE_INFINITY
  for (const s of seen) {
    if (batches.length < 2 || bytes + s.bytes > FILE_BATCH_BYTES) {
      batches.push([])
      bytes = 0
    }
    batches.at(-1)!.push(s)
    bytes += s.bytes
  }
  return batches
}

/** A frame whose samples stand at `at`. */
interface DecodedFile {
  readonly seen: SeenFrame
  readonly at: Address
  readonly input: InputFile
}

/**
 * Reads and decodes the frames into the pool, batch by batch: one is read and its checksum taken while the one before it is
 * decoded. `meanwhile` is called with what stands decoded while the last batch is decoded. Damaged files are left out.
 */
async function decodeFrames(
  host: Host,
  crew: Crew,
  seen: readonly SeenFrame[],
  at: readonly Address[],
  meanwhile: (decoded: readonly DecodedFile[]) => void,
) {
  const { arena } = crew
  const leftOut: LeftOut[] = []
  const good: DecodedFile[] = []
  const mark = arena.mark()
  const batches = inBatches(seen)
  const roomBytes = Math.max(...batches.map((b) => b.reduce((sum, s) => sum + s.bytes + 64, 0)))
  const rooms = batches.slice(0, 2).map(() => arena.alloc(roomBytes))
  let running: Promise<LoadedFrame[]> = Promise.resolve([])
  const settle = async () => {
    for (const { seen: s, job, sha256 } of await running) {
      good.push({ seen: s, at: job.destination, input: { file: s.frame.file, bytes: s.bytes, sha256 } })
    }
    running = Promise.resolve([])
  }
  let k = 0
  try {
    for (const [i, batch] of batches.entries()) {
      host.throwIfStopped()
      const loaded: LoadedFrame[] = []
      let fileAt = rooms[i % 2]!
      for (const s of batch) {
        const view = arena.u8(fileAt, s.bytes)
        const found = await host.files.readInto(s.frame.file, view)
        if (found < s.bytes)
          leftOut.push(leave(s.frame.file, 'file-cut-short', { wantedBytes: s.bytes, fileBytes: found }))
        else
          loaded.push({
            seen: s,
            job: { raw: s.raw, fileAt, fileBytes: s.bytes, destination: at[k]! },
            sha256: host.sha256(view),
          })
        fileAt += Math.ceil(s.bytes / 64) * 64
        k++
      }
      await settle()
      running = decodeBatch(crew, loaded, (b, { code, facts }) => leftOut.push(leave(b.seen.frame.file, code, facts)))
      // Waited for in the next turn; until then a failure must not count as unhandled.
      running.catch(() => {})
      host.progress({ stage: 'Reading', done: k, total: seen.length })
    }
    meanwhile(good)
    await settle()
  } finally {
    // The memory that is being decoded must outlive the decoding.
    await running.catch(() => {})
    arena.release(mark)
  }
  return { good, leftOut }
}

/** Does the frame stay as it was decoded until it is merged: nothing cut off, nothing levelled, no opcode on stored data? */
function staysAsDecoded({ width, height, activeArea, black, opcodes }: RawFile): boolean {
  const whole = activeArea.width === width && activeArea.height === height
  const even = black.repeatRows <= 2 && black.repeatColumns <= 2 && !black.deltaColumns && !black.deltaRows
  return whole && even && opcodes.length === 0
}

/** Noise of a frame's three colours, from its file or estimated from its pixels. */
function noiseOf(
  crew: Crew,
  raw: RawFile,
  at: Address,
  width: number,
  height: number,
): { terms: FrameNoise[]; source: 'file' | 'estimated' | 'assumed' } {
  const profile = noisePlanes(raw.noise, 3)
  if (profile) return { terms: [...profile], source: 'file' }
  if (raw.samples === 'cfa') {
    const most = Math.max(...raw.black.values)
    const b = raw.black
    const black = (x: number, y: number) => b.values[(y % b.repeatRows) * b.repeatColumns + (x % b.repeatColumns)] ?? 0
    const estimate = estimateNoise({
      samples: crew.arena.u16(at, width * height),
      width,
      height,
      black: [black(0, 0), black(1, 0), black(0, 1), black(1, 1)],
      white: Math.max(raw.white[0]!, most + 1),
      region: { x: 0, y: 0, width, height },
    })
    if (estimate) {
      // The green phases agree as a rule; the noisier one is the safe choice.
      const of = (colour: number) =>
        estimate.phases.filter((_, p) => raw.cfa?.[p] === colour).reduce((a, b) => (b.scale > a.scale ? b : a))
      return { terms: [of(0), of(1), of(2)], source: 'estimated' }
    }
  }
  // A small sensor's full well of 6000 electrons and read noise of 3 (the middle of the class; common practice, no source).
  const assumed = { scale: 1 / 6000, offset: (3 / 6000) ** 2 }
  return { terms: [assumed, assumed, assumed], source: 'assumed' }
}

/**
 * A bracket of raw files becomes a radiance image in the crew's memory. `withCrew` gives the crew for the need stated.
 * @throws Failure when no frame can be used
 */
export async function mergeRawBracket(
  host: Host,
  withCrew: (bytes: number) => Promise<Crew>,
  frames: readonly Frame[],
  reference: Frame,
): Promise<RadianceImage> {
  const { seen, leftOut } = await seeFrames(host, frames, reference)
  const first = seen[0]
  if (!first) throw noFrame(reference, leftOut)
  const samples = first.raw.samplesPerPixel
  const need = {
    frames: seen.length,
    pixels: Math.max(...seen.map((s) => s.raw.width * s.raw.height)),
    samples,
    largestFileBytes: Math.max(...seen.map((s) => s.bytes)),
  }
  const crew = await withCrew(bytesNeeded(need))
  const { arena } = crew
  const pool = layPool(arena, need)
  const noises = new Map<number | null, ReturnType<typeof noiseOf>>()
  const decoded = await decodeFrames(host, crew, seen, pool.frames, (frames) => {
    const early = frames.find((f) => f.seen.frame.file === reference.file)
    if (!early || early.seen.raw.noise || !staysAsDecoded(early.seen.raw)) return
    // The estimate is work for one thread: now it costs the crew no wait.
    const { raw } = early.seen
    noises.set(raw.iso, noiseOf(crew, raw, early.at, raw.width, raw.height))
  })
  leftOut.push(...decoded.leftOut)
  const used = decoded.good
  if (used.length === 0) throw noFrame(reference, leftOut)
  const at = Math.max(
    0,
    middle(
      used.map((u) => u.seen.raw),
      used.findIndex((u) => u.seen.frame.file === reference.file),
    ),
  )
  const master = used[at]!.seen.raw
  const { width, height } = master.activeArea

  host.throwIfStopped()
  for (const { seen: s, at: address } of used) {
    leftOut.push(
      ...(await applyStoredGainMaps(crew, {
        samples: address,
        width: s.raw.width,
        height: s.raw.height,
        opcodes: s.raw.opcodes,
      })),
    )
  }
  const levels =
    samples === 1
      ? await takeInMosaics(
          crew,
          used.map((u) => ({ raw: u.seen.raw, at: u.at })),
        )
      : await splitAll(
          crew,
          used.map((u) => ({ raw: u.seen.raw, at: u.at })),
        )
  const base = exposureStops(master) ?? 0
  const mergeInputs = used.map(({ seen: s, at: address }, k): MergeFrame => {
    // Without a profile one estimate serves all frames of an ISO: the one nearest the reference sees most.
    const key = s.raw.noise ? k + 1e6 : s.raw.iso
    if (!noises.has(key))
      noises.set(key, noiseOf(crew, s.raw, s.raw.iso === master.iso ? used[at]!.at : address, width, height))
    const [r, g, b] = noises.get(key)!.terms as [FrameNoise, FrameNoise, FrameNoise]
    return { ...levels[k]!, noise: [r, g, b], nominalStops: (exposureStops(s.raw) ?? 0) - base }
  })
  const referenceNoise = noises.get(master.noise ? at + 1e6 : master.iso)!
  const input = { width, height, cfa: master.cfa, frames: mergeInputs, reference: at }
  // Where nothing changes the variance after the merge, its rows are merged into place in their file.
  const { crop, opcodes, orientation } = master
  const asMerged = opcodes.length === 0 && orientation === 1 && crop.width === width && crop.height === height
  const merged = await mergeFrames(crew, input, {
    varianceGapBytes: asMerged ? EXR_ROW_HEAD_BYTES : 0,
    onStage: (stage) => host.progress({ stage: stage === 'align' ? 'Aligning' : 'Merging', done: 0, total: 1 }),
  })
  host.throwIfStopped()

  host.progress({ stage: 'Working out colour', done: 0, total: 1 })
  let planes: [Address, Address, Address]
  let variance = merged.variance
  let spare = pool.planes[3]
  if (master.cfa) {
    leftOut.push(...(await applyGainMaps(crew, { mosaic: merged.planes[0]!, variance, width, height, opcodes })))
    planes = [pool.planes[0], pool.planes[1], pool.planes[2]]
    await demosaic(crew, {
      mosaic: merged.planes[0]!,
      width,
      height,
      cfa: master.cfa,
      red: planes[0],
      green: planes[1],
      blue: planes[2],
    })
    arena.release(merged.planes[0]!)
  } else {
    planes = [merged.planes[0]!, merged.planes[1]!, merged.planes[2]!]
  }
  const lens = await correctLens(crew, { planes, variances: [variance], spare, width, height, opcodes })
  planes = [lens.planes[0]!, lens.planes[1]!, lens.planes[2]!]
  variance = lens.variances[0]!
  spare = lens.spare
  leftOut.push(...lens.leftOut)

  const colour = cameraToLinearSrgb(master.colour)
  const matrix = colour?.cameraToLinearSrgb ?? neutralGainsOnly(master.colour)
  const neutral = colour?.neutral ?? ([1 / matrix[0], 1 / matrix[4], 1 / matrix[8]] as const)
  await toWorkingColours(crew, { width, height, planes, neutral, matrix, ceiling: merged.ceiling })

  let size = { width, height }
  if (crop.width !== width || crop.height !== height || orientation !== 1) {
    size = orientedSize(crop.width, crop.height, orientation)
    const upright = async (plane: Address) => {
      const to = spare
      await uprightPlane(crew, plane, width, crop, orientation, to)
      spare = plane
      return to
    }
    planes = [await upright(planes[0]), await upright(planes[1]), await upright(planes[2])]
    variance = await upright(variance)
  }
  return {
    ...size,
    planes,
    variance,
    varianceInFile: asMerged,
    spare,
    merged,
    used: used.map((u) => ({ file: u.seen.frame.file, facts: u.seen.raw, input: u.input })),
    reference: at,
    source: 'raw',
    orientation,
    baselineExposureStops: master.baselineExposureStops,
    noise: { source: referenceNoise.source, terms: referenceNoise.terms },
    colour: colour
      ? { neutral: [...colour.neutral], correlatedColourTemperatureKelvin: colour.cct, basis: colour.basis }
      : { neutral: [...neutral], correlatedColourTemperatureKelvin: null, basis: 'neutral-only' },
    leftOut,
    crew,
  }
}

/** The reference if it is there, else the frame of middle exposure. */
function middle(raws: readonly RawFile[], wanted: number): number {
  if (wanted >= 0) return wanted
  const order = raws.map((r, k) => ({ k, stops: exposureStops(r) ?? 0 })).sort((a, b) => a.stops - b.stops)
  return order[(order.length - 1) >> 1]!.k
}

/** Interleaved frames become planes by way of memory above them. */
async function splitAll(crew: Crew, frames: readonly { raw: RawFile; at: Address }[]) {
  const out: Pick<MergeFrame, 'at' | 'black' | 'range'>[] = []
  for (const frame of frames) {
    const mark = crew.arena.mark()
    const { width, height } = frame.raw.activeArea
    const samples = width * height * 3
    const above = crew.arena.alloc(samples * 2)
    const taken = await takeInPlanes(crew, frame, above)
    crew.arena.u16(frame.at, samples).set(crew.arena.u16(above, samples))
    crew.arena.release(mark)
    out.push({ ...taken, at: frame.at })
  }
  return out
}

function noFrame(reference: Frame, leftOut: readonly LeftOut[]): Failure {
  const [only] = leftOut
  return malformed('no-usable-frame', { file: reference.file, reason: only?.reason ?? 'none', leftOut: leftOut.length })
}
