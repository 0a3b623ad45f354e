import { type Orientation, orientedSize, storedPosition } from '#core/pixels'
import type { Pixels8 } from './contract/index.ts'

/** A finished picture turned as its Exif orientation asks (Exif 2.32 section 4.6.4). */
export function uprightPixels(pixels: Pixels8, orientation: Orientation): Pixels8 {
  if (orientation === 1) return pixels
  const { width, height } = orientedSize(pixels.width, pixels.height, orientation)
  const { channels } = pixels
  const data = new Uint8Array(width * height * channels)
  for (let y = 0; y < height; y++)
    for (let x = 0; x < width; x++) {
      const [sx, sy] = storedPosition(x, y, pixels.width, pixels.height, orientation)
      const from = (sy * pixels.width + sx) * channels
      for (let c = 0; c < channels; c++) data[(y * width + x) * channels + c] = pixels.data[from + c]!
    }
  return { width, height, channels, data }
}
