import { Failure, type LeftOut } from '#core/base'
import { cameraToLinearSrgb, neutralGainsOnly } from '#core/colour'
import type { Address, Crew } from '#core/kernels'
import type { Orientation } from '#core/pixels'
import { noisePlanes } from '#core/sensor'
import type { Frame } from '#picture/card'
import {
  type FrameLevels,
  type FrameLight,
  LEVEL_RESULT_BYTES,
  type LevelFrame,
  type LevelRequest,
  type LevelWork,
  lightGrid,
  maskedBlack,
  measureSmears,
  readLevels,
  renderedLevels,
  type SmallPictureWork,
  type SmearAndFocus,
  smallSize,
  viewRendered,
} from '#picture/measure'
import { takeInMosaics } from '#picture/merge'
import { type DecodeJob, describeRendered, type RawFile } from '#picture/raw'
import type { Host, Pixels8 } from './contract/index.ts'
import { decodeBatch } from './decode-batch.ts'
import { exposureStops } from './radiance-raw.ts'
import { seeFile } from './see-file.ts'
import { uprightPixels } from './upright-pixels.ts'

/** All that was measured of one frame. */
export interface MeasuredFrame {
  readonly frame: Frame
  readonly orientation: Orientation
  readonly levels: FrameLevels
  /** Null for rendered pictures. */
  readonly light: FrameLight | null
  /** Above the stated black, in codes; null without masked areas. */
  readonly maskedBlackCodes: number | null
  readonly smear: SmearAndFocus
  /** Upright, some 250 pixels wide. */
  readonly small: Pixels8
  readonly sha256: string
}

interface SizedRaw {
  readonly frame: Frame
  readonly raw: RawFile
  readonly bytes: number
}

/** Files and samples of a batch: 8 × 12 MP stay below the first, 2 × 48 MP below the second. */
const USUAL_BATCH_BYTES = 300 * 1024 * 1024
const PAIR_BATCH_BYTES = 420 * 1024 * 1024
const MOST_IN_BATCH = 8
const SPARE_BYTES = 48 * 1024 * 1024
const SMALL_SIDE = 256

const rounded64 = (bytes: number) => Math.ceil(bytes / 64) * 64
const sampleBytes = ({ raw }: SizedRaw) => rounded64(2 * raw.width * raw.height)
const fileBytes = ({ bytes }: SizedRaw) => rounded64(bytes)
const sum = <T>(list: readonly T[], of: (one: T) => number) => list.reduce((total, one) => total + of(one), 0)

/**
 * Measures frames one batch after the other and hands each to `done`, raw files first. A file that cannot be read or
 * measured is left out with its reason and never stops the others. Needs at most 700 MB whatever their number.
 */
export async function measureFrames(
  host: Host,
  frames: readonly Frame[],
  done: (measured: MeasuredFrame) => Promise<void>,
): Promise<LeftOut[]> {
  const leftOut: LeftOut[] = []
  const leave = (file: string, { kind, code, facts }: Failure) =>
    leftOut.push({ what: file, reason: code, facts: { kind, ...facts } })
  const raws: SizedRaw[] = []
  const rendered: Frame[] = []
  for (const frame of frames) {
    if (frame.source === 'rendered') rendered.push(frame)
    else {
      const seen = await seeRaw(host, frame)
      if (seen instanceof Failure) leave(frame.file, seen)
      else raws.push(seen)
    }
  }
  const batches = inBatches(raws)
  const renderedBytes = Math.max(0, ...rendered.map((f) => 5 * f.width * f.height))
  const filesRoom = Math.max(0, ...batches.map((b) => sum(b, fileBytes)))
  const samplesRoom = Math.max(0, ...batches.map((b) => sum(b, sampleBytes)))
  const crew = await host.crew(Math.max(filesRoom + samplesRoom, renderedBytes) + SPARE_BYTES)
  let count = 0
  const tell = async (measured: MeasuredFrame) => {
    await done(measured)
    host.progress({ stage: 'Measuring', done: ++count, total: frames.length })
  }
  const base = crew.arena.mark()
  try {
    await measureRaws({ host, crew, leave }, batches, filesRoom, samplesRoom, tell)
    crew.arena.release(base)
    for (const frame of rendered) {
      host.throwIfStopped()
      try {
        await tell(await measureRendered(host, crew, frame))
      } catch (error) {
        if (!(error instanceof Failure) || error.kind === 'aborted') throw error
        leave(frame.file, error)
      }
      crew.arena.release(base)
    }
  } finally {
    await crew.close()
  }
  return leftOut
}

async function seeRaw(host: Host, frame: Frame): Promise<SizedRaw | Failure> {
  try {
    const { facts } = frame
    const raw = 'segments' in facts ? (facts as RawFile) : (await seeFile(host.files, frame.file)).description
    if (raw instanceof Failure) return raw
    if (raw.kind !== 'dng' || raw.samples !== 'cfa') return new Failure('unsupported', 'not-a-mosaic', {})
    return { frame, raw, bytes: await host.files.size(frame.file) }
  } catch (error) {
    if (error instanceof Failure && error.kind !== 'aborted') return error
    throw error
  }
}

function inBatches(raws: readonly SizedRaw[]): SizedRaw[][] {
  const batches: SizedRaw[][] = []
  let bytes = 0
  for (const one of raws) {
    const own = fileBytes(one) + sampleBytes(one)
    const last = batches.at(-1)
    const limit = last?.length === 1 ? PAIR_BATCH_BYTES : USUAL_BATCH_BYTES
    if (last && last.length < MOST_IN_BATCH && bytes + own <= limit) {
      last.push(one)
      bytes += own
    } else {
      batches.push([one])
      bytes = own
    }
  }
  return batches
}

interface Work {
  readonly host: Host
  readonly crew: Crew
  readonly leave: (file: string, failure: Failure) => void
}

interface Loaded {
  readonly of: SizedRaw
  readonly job: DecodeJob
  readonly sha256: string
}

/**
 * While the crew measures a batch, the files of the next are read and their checksums taken; and while it decodes and
 * measures that one, `done` writes what was found of the one before.
 */
async function measureRaws(
  work: Work,
  batches: readonly SizedRaw[][],
  filesRoom: number,
  samplesRoom: number,
  done: (measured: MeasuredFrame) => Promise<void>,
): Promise<void> {
  const { host, crew, leave } = work
  const filesAt = crew.arena.alloc(filesRoom)
  const samplesAt = crew.arena.alloc(samplesRoom)
  let next = batches[0] ? await loadBatch(work, batches[0], filesAt, samplesAt) : []
  let telling: Promise<void> = Promise.resolve()
  const tell = async (found: readonly MeasuredFrame[]) => {
    for (const measured of found) await done(measured)
  }
  for (const [i] of batches.entries()) {
    host.throwIfStopped()
    const decoded = await decodeBatch(crew, next, (one, failure) => leave(one.of.frame.file, failure))
    const measuring = measureDecoded(crew, decoded)
    // Waited for below; until then a failure must not count as unhandled.
    measuring.catch(() => {})
    const following = batches[i + 1]
    try {
      next = following ? await loadBatch(work, following, filesAt, samplesAt) : []
    } finally {
      // The memory that is being measured must outlive the measuring, and a failure to write must not go unhandled.
      await Promise.allSettled([measuring, telling])
    }
    await telling
    telling = tell(await measuring)
    telling.catch(() => {})
  }
  await telling
}

/** Reads the files of a batch into memory; their samples will stand at `samplesAt`. */
async function loadBatch(
  { host, crew, leave }: Work,
  batch: readonly SizedRaw[],
  filesAt: Address,
  samplesAt: Address,
): Promise<Loaded[]> {
  const loaded: Loaded[] = []
  let fileAt = filesAt
  let destination = samplesAt
  for (const of of batch) {
    const view = crew.arena.u8(fileAt, of.bytes)
    try {
      const found = await host.files.readInto(of.frame.file, view)
      if (found < of.bytes)
        throw new Failure('malformed', 'file-cut-short', { wantedBytes: of.bytes, fileBytes: found })
      loaded.push({
        of,
        job: { raw: of.raw, fileAt, fileBytes: of.bytes, destination },
        sha256: host.sha256(view),
      })
    } catch (error) {
      if (!(error instanceof Failure) || error.kind === 'aborted') throw error
      leave(of.frame.file, error)
    }
    fileAt += fileBytes(of)
    destination += sampleBytes(of)
  }
  return loaded
}

/** Levels, smear and a small picture of mosaics that stand decoded. */
async function measureDecoded(crew: Crew, decoded: readonly Loaded[]): Promise<MeasuredFrame[]> {
  const { arena } = crew
  const mark = arena.mark()
  try {
    // Taking in drops what lies outside the active area.
    const masked = decoded.map(({ of, job }) => maskedCodes(crew, of.raw, job.destination))
    const levels = await takeInMosaics(
      crew,
      decoded.map(({ of, job }) => ({ raw: of.raw, at: job.destination })),
    )
    const requests = decoded.map(({ of: { raw } }, k): LevelRequest & { readonly result: Address } => {
      const frame = levelFrame(raw, levels[k]!)
      return {
        frame,
        orientation: raw.orientation,
        gimbalRoll: raw.attitude?.gimbalRoll ?? null,
        light: arena.alloc(4 * lightGrid(frame.width, frame.height).cells),
        result: arena.alloc(LEVEL_RESULT_BYTES),
      }
    })
    await crew.run('measure.levels', { frames: requests } satisfies LevelWork, requests.length)
    const smears = await measureSmears(
      crew,
      requests.map(({ frame }) => frame),
    )
    const sizes = requests.map(({ frame, orientation }) => smallSize(frame.width, frame.height, orientation))
    const small: SmallPictureWork = {
      frames: requests.map(({ frame, orientation }, k) => ({
        frame,
        orientation,
        ...colourOf(decoded[k]!.of.raw),
        to: arena.alloc(3 * sizes[k]!.width * sizes[k]!.height),
      })),
    }
    await crew.run('measure.small', small, small.frames.length)
    return decoded.map(({ of, sha256 }, k) => {
      const { frame, light, result } = requests[k]!
      const grid = lightGrid(frame.width, frame.height)
      const found = readLevels(arena, result)
      const { width, height } = sizes[k]!
      return {
        frame: of.frame,
        orientation: of.raw.orientation,
        levels: found,
        light: {
          columns: grid.columns,
          rows: grid.rows,
          light: arena.f32(light, grid.cells).slice(),
          noise: found.noise!.used,
          exposureStops: exposureStops(of.raw) ?? Number.NaN,
        },
        maskedBlackCodes: masked[k]!,
        smear: smears[k]!,
        small: { width, height, channels: 3 as const, data: arena.u8(small.frames[k]!.to, 3 * width * height).slice() },
        sha256,
      }
    })
  } finally {
    arena.release(mark)
  }
}

/** White in camera colours, and what makes it white in sRGB. */
function colourOf({ colour }: RawFile) {
  const known = cameraToLinearSrgb(colour)
  const toSrgb = known?.cameraToLinearSrgb ?? neutralGainsOnly(colour)
  return { neutral: known?.neutral ?? [1 / toSrgb[0], 1 / toSrgb[4], 1 / toSrgb[8]], toSrgb }
}

function maskedCodes({ arena }: Crew, raw: RawFile, at: Address): number | null {
  if (raw.maskedAreas.length === 0) return null
  const { values, repeatRows, repeatColumns } = raw.black
  const { x: left, y: top } = raw.activeArea
  const place = (v: number, n: number) => ((v % n) + n) % n
  const samples = arena.u16(at, raw.width * raw.height)
  const stated = (x: number, y: number) =>
    values[place(y - top, repeatRows) * repeatColumns + place(x - left, repeatColumns)]!
  return maskedBlack(samples, raw.width, raw.maskedAreas, stated)?.offsetCodes ?? null
}

function levelFrame(raw: RawFile, { at, black, range }: Awaited<ReturnType<typeof takeInMosaics>>[number]): LevelFrame {
  const profile = noisePlanes(raw.noise, 3)
  return {
    at,
    width: raw.activeArea.width,
    height: raw.activeArea.height,
    cfa: raw.cfa!,
    black: [black[0], black[1], black[2], black[3]],
    range: range[0],
    white: raw.white[0]!,
    profile: profile && [profile[0]!, profile[1]!, profile[2]!],
  }
}

/** What can be said of a camera's finished picture. */
async function measureRendered(host: Host, crew: Crew, frame: Frame): Promise<MeasuredFrame> {
  const bytes = await host.files.read(frame.file)
  const { orientation, attitude } = describeRendered(bytes, bytes.length)
  const pixels = await host.codec.decode(bytes)
  if (pixels.channels !== 3) throw new Failure('unsupported', 'picture-channels', { found: pixels.channels })
  const { width, height, data } = pixels
  const codes = crew.arena.alloc(data.length)
  crew.arena.u8(codes, data.length).set(data)
  const luma = crew.arena.alloc(2 * width * height)
  const [smear] = await measureSmears(crew, [await viewRendered(crew, codes, luma, { width, height })])
  return {
    frame,
    orientation,
    levels: renderedLevels({ codes: data, width, height, orientation, gimbalRoll: attitude?.gimbalRoll ?? null }),
    light: null,
    maskedBlackCodes: null,
    smear: smear!,
    small: uprightPixels(await host.codec.reduce(pixels, SMALL_SIDE), orientation),
    sha256: host.sha256(bytes),
  }
}
