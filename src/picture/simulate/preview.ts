import { encodeSrgb } from '#core/colour'
import type { DngToWrite } from '#core/formats'
import type { Address, Memory } from '#core/kernels'
import { cfaAt } from '#core/pixels'
import { lanternMatrices, type Sensor } from './camera.ts'

/**
 * A small finished picture of a mosaic, as a camera would put beside its raw file: blocks averaged by colour, white
 * balance, sRGB. `longSide` is met to within a block; blocks are an even number of pixels.
 */
export function previewOf(
  memory: Memory,
  mosaic: Address,
  sensor: Sensor,
  size: { readonly width: number; readonly height: number; readonly longSide: number },
): NonNullable<DngToWrite['thumbnail']> {
  const block = 2 * Math.max(1, Math.round(Math.max(size.width, size.height) / size.longSide / 2))
  const width = Math.floor(size.width / block)
  const height = Math.floor(size.height / block)
  const samples = memory.u16(mosaic, size.width * size.height)
  const m = lanternMatrices().toLinearSrgb
  const data = new Uint8Array(width * height * 3)
  const sums = new Float64Array(width * 3)
  const greens = (block * block) / 2
  const counts = [greens / 2, greens, greens / 2] as const
  for (let y = 0; y < height; y++) {
    sums.fill(0)
    for (let j = y * block; j < (y + 1) * block; j++) {
      for (let i = 0; i < width * block; i++) {
        const black = sensor.black[((j & 1) << 1) | (i & 1)]!
        const value = (samples[j * size.width + i]! - black) / (sensor.white - black)
        sums[Math.floor(i / block) * 3 + cfaAt(sensor.cfa, j, i)]! += value
      }
    }
    for (let x = 0; x < width; x++) {
      const [r, g, b] = [0, 1, 2].map((c) => sums[x * 3 + c]! / counts[c]!) as [number, number, number]
      for (let c = 0; c < 3; c++) {
        const linear = m[c * 3]! * r + m[c * 3 + 1]! * g + m[c * 3 + 2]! * b
        // Camera makers brighten; a gain of two with a soft shoulder stands for that.
        data[(y * width + x) * 3 + c] = Math.round(255 * encodeSrgb(1 - Math.exp(-2 * Math.max(linear, 0))))
      }
    }
  }
  return { width, height, data }
}
