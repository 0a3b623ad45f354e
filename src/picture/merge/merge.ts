import { overLimit, unsupported } from '#core/base'
import { type Crew, cubicTable, SCRATCH_BYTES } from '#core/kernels'
import { alignFrames } from './alignment.ts'
import { expectCells } from './expectation.ts'
import type { TileFrame } from './lay-frame.ts'
import { buildPyramids } from './pyramids.ts'
import { solveRatios } from './ratios.ts'
import { type TileParams, tileCount, tileRowsFor } from './tiles.ts'
import type { Merged, MergeFrame, MergeInput, Motion } from './types.ts'

/**
 * A correction from another colour's curvature has about half a sample's variance when it is noise alone (the squares of
 * the kernels' weights sum to 0.3 … 0.7); it passes in full when it is well over three standard deviations of that.
 */
const CORRECTION_NOISE = 5

/** One cell: less says nothing of motion or light. */
const SMALLEST_SIDE = 16

/** The affine map (row order, two rows) of a reference pixel into a frame that moved so. */
function mapOf(motion: Motion, width: number, height: number): TileFrame['map'] {
  const turn = (motion.rotationDegrees * Math.PI) / 180
  const [c, s] = [Math.cos(turn), Math.sin(turn)]
  const cx = (width - 1) / 2
  const cy = (height - 1) / 2
  return [c, -s, cx - c * cx + s * cy + motion.x, s, c, cy - s * cx - c * cy + motion.y]
}

/** Eight floats per plane: black of the four phases, then scale. A plane of its own has one black and one scale. */
const levelsOf = (f: MergeFrame, cfa: boolean): number[] =>
  cfa
    ? [...f.black, ...f.range.map((r) => 1 / r)]
    : [0, 1, 2].flatMap((c) => [...Array(4).fill(f.black[c]!), ...Array(4).fill(1 / f.range[c]!)])

/**
 * Merges frames of one scene into one radiance image in the domain they were recorded in: global alignment, exposure
 * ratios from the pixels, then for every sample the inverse-variance mean of all unclipped frames.
 *
 * `motions` gives known motions instead of finding them. Allocates the result in the crew's arena and leaves it there, with a
 * few megabytes of cells below it; everything else it allocates is released. Throws unsupported
 * "picture-too-small", and a limit failure when memory does not suffice or the frames stand so askew that a tile does not fit.
 */
export async function mergeFrames(
  crew: Crew,
  input: MergeInput,
  options: {
    readonly onStage?: (stage: string) => void
    readonly motions?: readonly Motion[]
    /** Bytes left free before each row of variances: room for a file's own words, so that they need not be copied. */
    readonly varianceGapBytes?: number
  } = {},
): Promise<Merged> {
  const { arena } = crew
  const { width, height, cfa, frames, reference } = input
  const planeCount = cfa ? 1 : 3
  if (Math.min(width, height) < SMALLEST_SIDE)
    throw unsupported('picture-too-small', { width, height, limit: SMALLEST_SIDE })

  options.onStage?.('align')
  const pyramids = await buildPyramids(crew, input)
  const motions = options.motions ?? (await alignFrames(crew, input, pyramids))
  arena.release(pyramids.picturesFrom)
  const ratios = await solveRatios(crew, input, pyramids, motions)
  // The variance first: a mosaic on top of the stack can be given back once it is demosaiced.
  const gap = options.varianceGapBytes ?? 0
  const varianceRowBytes = width * 4 + gap
  const variance = arena.alloc(varianceRowBytes * height) + gap
  const planes = Array.from({ length: planeCount }, () => arena.alloc(width * height * 4))
  const mark = arena.mark()

  options.onStage?.('merge')
  const gains = ratios.map((r) => 2 ** -r.stops)
  const expected = await expectCells(crew, input, pyramids, motions, gains)
  const shortest = gains.indexOf(Math.max(...gains))
  const tileFrames = frames.map((f, k): TileFrame => {
    const map = mapOf(motions[k]!, width, height)
    const levelValues = levelsOf(f, cfa !== null)
    const levels = arena.alloc(levelValues.length * 4)
    arena.f32(levels, levelValues.length).set(levelValues)
    const warp = arena.alloc(6 * 4)
    arena.f32(warp, 6).set(map)
    const g = gains[k]!
    const scaled = (pick: 'scale' | 'offset', by: number) =>
      f.noise.map((n) => Math.max(n[pick], pick === 'offset' ? 1e-12 : 1e-9) * by) as unknown as readonly [
        number,
        number,
        number,
      ]
    return {
      at: f.at,
      levels,
      warp,
      own: k === reference,
      gain: g,
      // Where every frame clips, the least exposed one says how bright it is at least; the reference where that one does not reach.
      floor: k === shortest ? 1e-6 : k === reference ? 1e-10 : 0,
      noiseScale: CORRECTION_NOISE * Math.max(...f.noise.map((n) => n.scale)),
      noiseOffset: CORRECTION_NOISE * Math.max(...f.noise.map((n) => n.offset)),
      s: scaled('scale', g),
      o: scaled('offset', g * g),
      map,
    }
  })
  const table = arena.alloc(cubicTable().byteLength)
  arena.f32(table, cubicTable().length).set(cubicTable())
  const tileRows = tileRowsFor(
    width,
    height,
    tileFrames.map((f) => f.map),
    SCRATCH_BYTES,
  )
  if (tileRows === 0) throw overLimit('tile-over-scratch', { width, frames: frames.length })
  const { across, down } = tileCount(width, height, tileRows)
  const clipped = arena.alloc(across * down * 4)
  const params: TileParams = {
    width,
    height,
    cfa,
    table,
    tileRows,
    frames: tileFrames,
    cellColumns: expected.columns,
    cellRows: expected.rows,
    expected: expected.maps,
    out: planes,
    variance,
    varianceRowBytes,
    variancePlane: cfa ? 0 : 1,
    clipped,
  }
  await crew.run('merge.tiles', params, across * down)
  const lost = arena.i32(clipped, across * down).reduce((a, b) => a + b, 0)
  arena.release(mark)
  return {
    planes,
    variance,
    frames: frames.map((f, k) => ({
      motion: motions[k]!,
      nominalStops: f.nominalStops,
      ratioStops: ratios[k]!.stops,
      ratioSolved: ratios[k]!.solved,
    })),
    clippedShare: lost / (width * height * planeCount),
    ceiling: Math.max(...gains),
  }
}
