import { readFileSync } from 'node:fs'

/** Three linear planes of equal size, for tests. */
export interface FloatPicture {
  readonly width: number
  readonly height: number
  readonly r: Float32Array
  readonly g: Float32Array
  readonly b: Float32Array
}

/** A shared-exponent radiance map: value = mantissa · 2^(e − 136) (Ward 1991, "Real pixels"); new-style run lengths. */
export function readRgbe(path: string): FloatPicture {
  const bytes = readFileSync(path)
  const head = bytes.toString('latin1', 0, 4096)
  const size = /-Y (\d+) \+X (\d+)\n/.exec(head)
  if (!size) throw new Error(`not a radiance map: ${path}`)
  const height = Number(size[1])
  const width = Number(size[2])
  let at = size.index + size[0].length
  const planes = [0, 1, 2].map(() => new Float32Array(width * height)) as [Float32Array, Float32Array, Float32Array]
  const row = new Uint8Array(width * 4)
  for (let y = 0; y < height; y++) {
    at += 4
    for (let c = 0; c < 4; c++) {
      for (let x = 0; x < width; ) {
        const n = bytes[at++]!
        if (n > 128) {
          row.fill(bytes[at++]!, c * width + x, c * width + x + n - 128)
          x += n - 128
        } else {
          row.set(bytes.subarray(at, at + n), c * width + x)
          at += n
          x += n
        }
      }
    }
    for (let x = 0; x < width; x++) {
      const scale = 2 ** (row[3 * width + x]! - 136)
      for (let c = 0; c < 3; c++) planes[c]![y * width + x] = row[c * width + x]! * scale
    }
  }
  return { width, height, r: planes[0], g: planes[1], b: planes[2] }
}

/** A perspective view out of an equirectangular map, bilinear. Angles in degrees; pitch up is positive. */
export function perspectiveView(
  map: FloatPicture,
  view: { yaw: number; pitch: number; fieldOfView: number; width: number; height: number },
): FloatPicture {
  const { width, height } = view
  const focal = width / 2 / Math.tan((view.fieldOfView * Math.PI) / 360)
  const cy = Math.cos((view.yaw * Math.PI) / 180)
  const sy = Math.sin((view.yaw * Math.PI) / 180)
  const cp = Math.cos((view.pitch * Math.PI) / 180)
  const sp = Math.sin((view.pitch * Math.PI) / 180)
  const out = [0, 1, 2].map(() => new Float32Array(width * height))
  const from = [map.r, map.g, map.b]
  for (let y = 0; y < height; y++) {
    for (let x = 0; x < width; x++) {
      const u = (x + 0.5 - width / 2) / focal
      const v = -(y + 0.5 - height / 2) / focal
      const up = v * cp + sp
      const forward = cp - v * sp
      const east = u * cy + forward * sy
      const north = forward * cy - u * sy
      const px = (Math.atan2(east, north) / (2 * Math.PI) + 0.5) * map.width - 0.5
      const py = (0.5 - Math.atan2(up, Math.hypot(east, north)) / Math.PI) * map.height - 0.5
      const x0 = Math.floor(px)
      const y0 = Math.min(Math.max(Math.floor(py), 0), map.height - 2)
      const fx = px - x0
      const fy = Math.min(Math.max(py - y0, 0), 1)
      const xa = (x0 + map.width) % map.width
      const xb = (x0 + 1 + map.width) % map.width
      for (let c = 0; c < 3; c++) {
        const p = from[c]!
        const top = p[y0 * map.width + xa]! * (1 - fx) + p[y0 * map.width + xb]! * fx
        const low = p[(y0 + 1) * map.width + xa]! * (1 - fx) + p[(y0 + 1) * map.width + xb]! * fx
        out[c]![y * width + x] = top * (1 - fy) + low * fy
      }
    }
  }
  return { width, height, r: out[0]!, g: out[1]!, b: out[2]! }
}
