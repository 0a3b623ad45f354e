import type { Address, Crew, Task } from '#core/kernels'
import type { RadiancePlanes } from './planes.ts'

interface ReduceParams {
  readonly from: RadiancePlanes
  readonly factor: number
  readonly width: number
  readonly out: readonly Address[]
}

/** One row of the reduced picture: the mean of factor × factor pixels. */
export const reduceTask: Task = ({ memory }, { from, factor, width, out }: ReduceParams, item) => {
  const scale = 1 / (factor * factor)
  ;[from.r, from.g, from.b].forEach((at, c) => {
    const rows = Array.from({ length: factor }, (_, j) =>
      memory.f32(at + (item * factor + j) * from.stride * 4, width * factor),
    )
    const to = memory.f32(out[c]! + item * width * 4, width)
    to.fill(0)
    for (const row of rows) {
      if (factor === 2) {
        for (let x = 0; x < width; x++) to[x]! += row[2 * x]! + row[2 * x + 1]!
        continue
      }
      for (let x = 0, i = 0; x < width; x++) {
        let sum = 0
        for (let k = 0; k < factor; k++, i++) sum += row[i]!
        to[x]! += sum
      }
    }
    for (let x = 0; x < width; x++) to[x]! *= scale
  })
}

/** A smaller radiance image of at most `longSide` pixels, by means of whole blocks; what does not fill a block at the edge is left off. */
export async function reducePlanes(crew: Crew, from: RadiancePlanes, longSide: number): Promise<RadiancePlanes> {
  const factor = Math.max(1, Math.ceil(Math.max(from.width, from.height) / longSide))
  const width = Math.max(1, Math.floor(from.width / factor))
  const height = Math.max(1, Math.floor(from.height / factor))
  const out = [0, 1, 2].map(() => crew.arena.alloc(width * height * 4)) as [Address, Address, Address]
  const used = from.width < factor || from.height < factor ? 1 : factor
  await crew.run('finish.reduce', { from, factor: used, width, out } satisfies ReduceParams, height)
  return { width, height, stride: width, r: out[0], g: out[1], b: out[2] }
}
