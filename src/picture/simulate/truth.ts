import type { Matrix3 } from '#core/base'
import type { Address, Crew, TaskContext } from '#core/kernels'
import { lanternMatrices } from './camera.ts'
import type { Master } from './master.ts'

interface TruthParams extends Master {
  readonly halves: Address
  readonly matrix: Matrix3
}

const ROWS = 16

/** The noiseless picture of the reference frame as three planes (R, G, B; linear sRGB) of width × height halves. */
export async function truthHalves(crew: Crew, master: Master): Promise<Address> {
  const halves = crew.arena.alloc(master.width * master.height * 6)
  const params: TruthParams = { ...master, halves, matrix: lanternMatrices().toLinearSrgb }
  await crew.run('simulate.truth', params, Math.ceil(master.height / ROWS))
  return halves
}

export function truthTask({ memory, kernels, scratch }: TaskContext, p: TruthParams, item: number): void {
  const size = p.planeWidth * p.planeHeight
  const planes = memory.f32(p.planes, size * 3)
  const row = memory.f32(scratch, p.width)
  const last = Math.min((item + 1) * ROWS, p.height)
  for (let y = item * ROWS; y < last; y++) {
    const from = (y + p.margin) * p.planeWidth + p.margin
    for (let c = 0; c < 3; c++) {
      const [a, b, d] = p.matrix.slice(c * 3, c * 3 + 3) as [number, number, number]
      for (let x = 0; x < p.width; x++) {
        const i = from + x
        row[x] = a * planes[i]! + b * planes[i + size]! + d * planes[i + 2 * size]!
      }
      kernels.floatToHalf(scratch, p.halves + (c * p.height + y) * p.width * 2, p.width)
    }
  }
}
