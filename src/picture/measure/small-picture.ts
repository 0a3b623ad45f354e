import { srgbEncodeTable } from '#core/colour'
import { type Address, CELL, CELL_FLOATS, type Task } from '#core/kernels'
import { type Orientation, orientedSize, storedPosition } from '#core/pixels'
import { COLOURS, type LevelFrame, phasesOf } from './level-frame.ts'

/** A mosaic to be made small, and where its picture goes. */
export interface SmallPictureRequest {
  readonly frame: LevelFrame
  readonly orientation: Orientation
  /** Camera coordinates of white, largest 1: beyond them a colour is clipped, and would turn magenta. */
  readonly neutral: readonly number[]
  /** Camera colours over white to linear sRGB, row by row. */
  readonly toSrgb: readonly number[]
  /** Three bytes a pixel, `smallSize` pixels, upright. */
  readonly to: Address
}

export interface SmallPictureWork {
  readonly frames: readonly SmallPictureRequest[]
}

const stored = (width: number, height: number) => ({ width: Math.ceil(width / CELL), height: Math.ceil(height / CELL) })

/** Size of the upright small picture: a pixel for every 16 × 16 of the frame. */
export function smallSize(width: number, height: number, orientation: Orientation) {
  const small = stored(width, height)
  return orientedSize(small.width, small.height, orientation)
}

const CODES = 4096

/** The frame as it was exposed, in sRGB, a pixel a cell: 250 by 188 of 12 MP. Clipped lamps stay white. */
export const smallPictureTask: Task = ({ memory, kernels, scratch }, p: SmallPictureWork, item) => {
  const { frame, orientation, neutral, toSrgb, to } = p.frames[item]!
  const { at, width, height, cfa, black, range } = frame
  const from = stored(width, height)
  const row = from.width * CELL_FLOATS
  for (let y = 0; y < from.height; y++) kernels.cellRow(at, width, height, y, scratch + 4 * y * row)
  const cells = memory.f32(scratch, from.height * row)
  const phases = COLOURS.map((colour) => phasesOf(cfa, colour))
  const code = srgbEncodeTable(CODES)
  const size = smallSize(width, height, orientation)
  const out = memory.u8(to, 3 * size.width * size.height)
  const camera = [0, 0, 0]
  for (let y = 0, o = 0; y < size.height; y++)
    for (let x = 0; x < size.width; x++) {
      const [sx, sy] = storedPosition(x, y, from.width, from.height, orientation)
      const cell = sy * row + sx * CELL_FLOATS
      for (const c of COLOURS) {
        let sum = 0
        for (const k of phases[c]!) sum += cells[cell + k]! - black[k]!
        camera[c] = Math.min(neutral[c]!, sum / (phases[c]!.length * range))
      }
      for (let c = 0; c < 3; c++) {
        const v = toSrgb[3 * c]! * camera[0]! + toSrgb[3 * c + 1]! * camera[1]! + toSrgb[3 * c + 2]! * camera[2]!
        out[o++] = 255 * code[Math.round((CODES - 1) * Math.min(1, Math.max(0, v)))]! + 0.5
      }
    }
}
