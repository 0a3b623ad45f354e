import { diagonal3, type Matrix3, multiply3, type Triple } from '#core/base'
import { type Address, type Crew, type Task, WORKING_NUMBERS } from '#core/kernels'

/** Camera planes that become colours where they lie. */
export interface CameraPlanes {
  readonly width: number
  readonly height: number
  /** f32 planes of width × height: red, green, blue in camera units. */
  readonly planes: readonly [Address, Address, Address]
  /** Camera coordinates of neutral, largest 1. */
  readonly neutral: Triple
  /** Camera values → working colours; sends the neutral to (1, 1, 1). */
  readonly matrix: Matrix3
  /** Saturation of the least exposed frame, in the planes' units. */
  readonly ceiling: number
}

interface WorkingParams {
  readonly width: number
  readonly height: number
  readonly planes: readonly [Address, Address, Address]
  readonly numbers: Address
}

const ROWS = 64
/** Shares of the ceiling between which a lamp goes from its colour to white: the merge trusts no sample above 0.96. */
const FROM = 0.85
const TO = 0.97

export const workingTask: Task = ({ kernels }, p: WorkingParams, item) => {
  for (let y = item * ROWS; y < Math.min(p.height, (item + 1) * ROWS); y++) {
    const [r, g, b] = p.planes.map((at) => at + y * p.width * 4) as [Address, Address, Address]
    kernels.workingRow(r, g, b, p.width, p.numbers)
  }
}

/** White balance, matrix, and lamps clipped in every frame, in place (see the working kernel). */
export async function toWorkingColours(crew: Crew, picture: CameraPlanes): Promise<void> {
  const { width, height, planes, neutral, matrix, ceiling } = picture
  const mark = crew.arena.mark()
  const numbers = crew.arena.alloc(WORKING_NUMBERS * 4)
  crew.arena
    .f32(numbers, WORKING_NUMBERS)
    .set([...neutral.map((n) => 1 / n), FROM * ceiling, TO * ceiling, ...multiply3(matrix, diagonal3(neutral))])
  const params: WorkingParams = { width, height, planes, numbers }
  await crew.run('finish.working', params, Math.ceil(height / ROWS))
  crew.arena.release(mark)
}
