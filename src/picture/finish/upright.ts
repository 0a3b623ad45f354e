import type { Address, Crew, Task } from '#core/kernels'
import { type Orientation, orientedSize, type Region, storedPosition } from '#core/pixels'

const ROWS = 64

interface TurnParams {
  readonly from: Address
  readonly stride: number
  readonly crop: Region
  readonly orientation: Orientation
  readonly to: Address
}

export const turnTask: Task = ({ memory }, p: TurnParams, item) => {
  const { crop, orientation } = p
  const { width, height } = orientedSize(crop.width, crop.height, orientation)
  const from = memory.f32(p.from, (crop.y + crop.height - 1) * p.stride + crop.x + crop.width)
  const to = memory.f32(p.to, width * height)
  for (let y = item * ROWS; y < Math.min(height, (item + 1) * ROWS); y++) {
    // Along an upright row the stored position moves by one constant step.
    const [x0, y0] = storedPosition(0, y, crop.width, crop.height, orientation)
    const [x1, y1] = storedPosition(1, y, crop.width, crop.height, orientation)
    const step = (y1 - y0) * p.stride + (x1 - x0)
    let at = (crop.y + y0) * p.stride + crop.x + x0
    for (let x = 0; x < width; x++, at += step) to[y * width + x] = from[at]!
  }
}

/** The crop of one f32 plane, upright, written to `to` (which must not overlap it). */
export async function uprightPlane(
  crew: Crew,
  from: Address,
  stride: number,
  crop: Region,
  orientation: Orientation,
  to: Address,
): Promise<void> {
  const { height } = orientedSize(crop.width, crop.height, orientation)
  await crew.run('finish.turn', { from, stride, crop, orientation, to } satisfies TurnParams, Math.ceil(height / ROWS))
}
