import type { Address, Crew, Task } from '#core/kernels'
import type { RadiancePlanes } from './planes.ts'

/** Rows of the reduced picture an item of work. */
const STRIP_ROWS = 32

interface HalveParams {
  readonly from: RadiancePlanes
  readonly out: readonly [Address, Address, Address]
}

const halfOf = ({ width, height }: RadiancePlanes) => ({ width: width >> 1, height: height >> 1 })

/** A strip of rows of the half-size picture. */
export const halveTask: Task = ({ kernels, memory, scratch, scratchBytes }, { from, out }: HalveParams, item) => {
  const small = halfOf(from)
  const end = Math.min(small.height, (item + 1) * STRIP_ROWS)
  const atATime = from.stride === from.width ? STRIP_ROWS : rowsInScratch(scratchBytes, from.width)
  for (let y = item * STRIP_ROWS; y < end; y += atATime) {
    const until = Math.min(end, y + atATime)
    for (const [c, plane] of [from.r, from.g, from.b].entries()) {
      if (from.stride === from.width) {
        kernels.halveRows(plane, from.width, from.height, y, until, out[c]!)
        continue
      }
      // The kernel knows no stride: these rows and those that the filter reaches above and below, laid close in scratch.
      const first = Math.max(0, y - 1)
      const rows = Math.min(from.height, 2 * until + 1) - 2 * first
      for (let j = 0; j < rows; j++) {
        const row = memory.f32(plane + (2 * first + j) * from.stride * 4, from.width)
        memory.f32(scratch + j * from.width * 4, from.width).set(row)
      }
      kernels.halveRows(scratch, from.width, rows, y - first, until - first, out[c]! + first * small.width * 4)
    }
  }
}

const rowsInScratch = (bytes: number, width: number) =>
  Math.max(1, Math.min(STRIP_ROWS, (bytes / (width * 4) - 3) >> 1))

/**
 * The picture halved until its longer side is at most `longSide` pixels, by the filter of the pyramid; an odd last row or
 * column is left off. A picture that is small enough, or only one pixel high or wide, is given back as it is.
 */
export async function reducePlanes(crew: Crew, from: RadiancePlanes, longSide: number): Promise<RadiancePlanes> {
  let picture = from
  while (Math.max(picture.width, picture.height) > longSide && Math.min(picture.width, picture.height) > 1) {
    const { width, height } = halfOf(picture)
    const out = [0, 1, 2].map(() => crew.arena.alloc(width * height * 4)) as [Address, Address, Address]
    const params: HalveParams = { from: picture, out }
    await crew.run('finish.halve', params, Math.ceil(height / STRIP_ROWS))
    picture = { width, height, stride: width, r: out[0], g: out[1], b: out[2] }
  }
  return picture
}
