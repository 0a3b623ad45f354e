import { type Facts, Failure, type LeftOut, malformed } from '#core/base'
import type { Address, Crew } from '#core/kernels'
import { type Orientation, orientedSize } from '#core/pixels'
import type { Frame } from '#picture/card'
import { uprightPlane } from '#picture/finish'
import {
  LAST_TRUSTED_CODE,
  type MergeFrame,
  mergeFrames,
  RENDERED_RANGE,
  renderedNoise,
  sampleCodes,
  solveResponse,
  takeInRendered,
} from '#picture/merge'
import { describeRendered, type RenderedFile } from '#picture/raw'
import type { Host } from './contract/index.ts'
import { bytesNeeded, layPool } from './radiance-memory.ts'
import { exposureStops } from './radiance-raw.ts'
import type { InputFile, RadianceImage } from './radiance-types.ts'

interface RenderedFrame {
  readonly frame: Frame
  readonly picture: RenderedFile
  readonly codes: Uint8Array
  readonly input: InputFile
  readonly stops: number
}

const leave = (what: string, reason: string, facts: Facts = {}): LeftOut => ({ what, reason, facts })

/** Decoded frames of one size with a known exposure; the rest is left out by name. */
async function readFrames(
  host: Host,
  frames: readonly Frame[],
  reference: Frame,
): Promise<{ read: RenderedFrame[]; leftOut: LeftOut[] }> {
  const read: RenderedFrame[] = []
  const leftOut: LeftOut[] = []
  const wanted = { width: reference.width, height: reference.height }
  for (const [i, frame] of frames.entries()) {
    host.throwIfStopped()
    try {
      const bytes = await host.files.read(frame.file)
      const picture = describeRendered(bytes, bytes.length)
      const stops = exposureStops(picture)
      if (picture.width !== wanted.width || picture.height !== wanted.height) {
        leftOut.push(leave(frame.file, 'differs-from-reference', { size: `${picture.width}×${picture.height}` }))
      } else if (stops === null && frames.length > 1) {
        leftOut.push(leave(frame.file, 'exposure-unknown'))
      } else {
        const pixels = await host.codec.decode(bytes)
        if (pixels.channels !== 3) throw new Failure('unsupported', 'picture-channels', { found: pixels.channels })
        read.push({
          frame,
          picture,
          codes: pixels.data,
          stops: stops ?? 0,
          input: { file: frame.file, bytes: bytes.length, sha256: host.sha256(bytes) },
        })
      }
    } catch (error) {
      if (!(error instanceof Failure)) throw error
      leftOut.push(leave(frame.file, error.code, error.facts))
    }
    host.progress({ stage: 'Reading', done: i + 1, total: frames.length })
  }
  return { read, leftOut }
}

/**
 * A bracket of the camera's own finished pictures becomes a radiance image through a solved response, in the crew's memory.
 * Colours are taken for sRGB. @throws Failure when no frame can be used
 */
export async function mergeRenderedBracket(
  host: Host,
  withCrew: (bytes: number) => Promise<Crew>,
  frames: readonly Frame[],
  reference: Frame,
): Promise<RadianceImage> {
  const { read, leftOut } = await readFrames(host, frames, reference)
  if (read.length === 0) {
    throw malformed('no-usable-frame', {
      file: reference.file,
      reason: leftOut[0]?.reason ?? 'none',
      leftOut: leftOut.length,
    })
  }
  const { width, height } = read[0]!.picture
  const pixels = width * height
  const at = Math.max(
    0,
    read.findIndex((r) => r.frame.file === reference.file),
  )
  const base = read[at]!.stops
  const stops = read.map((r) => r.stops - base)
  // One curve for all three colours: cameras balance before they apply it, so equal codes mean neutral at every level.
  const codes = sampleCodes(
    read.map((r) => r.codes),
    width,
    height,
  )
  const curve = solveResponse({ codes, stops })

  const need = { frames: read.length, pixels, samples: 3 as const, largestFileBytes: pixels * 3 }
  const crew = await withCrew(bytesNeeded(need))
  const { arena } = crew
  const pool = layPool(arena, need)
  const mark = arena.mark()
  const tables = arena.alloc(3 * 512)
  const table = Uint16Array.from(curve, (v) => Math.round(RENDERED_RANGE * Math.min(1, v)))
  for (let c = 0; c < 3; c++) arena.u16(tables + c * 512, 256).set(table)
  const codesAt = arena.alloc(pixels * 3)
  for (const [k, r] of read.entries()) {
    arena.u8(codesAt, pixels * 3).set(r.codes)
    // What the shortest exposure has of a lamp's colour is all there is of it.
    const shortest = stops[k] === Math.min(...stops)
    await takeInRendered(crew, codesAt, pixels, tables, pool.frames[k]!, shortest ? 256 : LAST_TRUSTED_CODE)
  }
  arena.release(mark)
  const terms = renderedNoise(curve)
  const noise = [terms, terms, terms] as const
  const range = [RENDERED_RANGE, RENDERED_RANGE, RENDERED_RANGE, RENDERED_RANGE] as const
  const inputs = read.map(
    (_, k): MergeFrame => ({ at: pool.frames[k]!, black: [0, 0, 0, 0], range, noise, nominalStops: stops[k]! }),
  )
  const merged = await mergeFrames(
    crew,
    { width, height, cfa: null, frames: inputs, reference: at },
    { onStage: (stage) => host.progress({ stage: stage === 'align' ? 'Aligning' : 'Merging', done: 0, total: 1 }) },
  )
  host.throwIfStopped()

  const orientation: Orientation = read[at]!.picture.orientation
  let planes = [merged.planes[0]!, merged.planes[1]!, merged.planes[2]!] as [Address, Address, Address]
  let { variance } = merged
  let size = { width, height }
  if (orientation !== 1) {
    size = orientedSize(width, height, orientation)
    const crop = { x: 0, y: 0, width, height }
    const upright = async (plane: Address, to: Address) => {
      await uprightPlane(crew, plane, width, crop, orientation, to)
      return to
    }
    planes = [
      await upright(planes[0], pool.planes[0]),
      await upright(planes[1], pool.planes[1]),
      await upright(planes[2], pool.planes[2]),
    ]
    variance = await upright(variance, pool.planes[3])
  }
  return {
    ...size,
    planes,
    variance,
    varianceInFile: false,
    spare: null,
    merged,
    used: read.map((r) => ({ file: r.frame.file, facts: r.picture, input: r.input })),
    reference: at,
    source: 'rendered',
    orientation,
    baselineExposureStops: 0,
    noise: { source: 'response', terms: noise },
    colour: { neutral: null, correlatedColourTemperatureKelvin: null, basis: 'srgb-assumed' },
    leftOut,
    crew,
  }
}
