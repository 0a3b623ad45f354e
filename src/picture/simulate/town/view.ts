/** Where the camera hangs and looks; the town's river runs away from it to the north. */
export interface TownView {
  readonly seed: number
  readonly eastMetres: number
  readonly northMetres: number
  /** Above the quays. */
  readonly heightMetres: number
  /** Clockwise from north. */
  readonly yawDegrees: number
  /** Below the horizon is negative. */
  readonly pitchDegrees: number
  readonly horizontalFieldDegrees: number
}

/** Pinhole camera: pixel ↔ direction. x east, y north, z up. */
export interface Pinhole {
  readonly x: number
  readonly y: number
  readonly z: number
  readonly focalPixels: number
  /** Unit direction through a pixel's centre, written to `out`. */
  ray(column: number, row: number, out: Float64Array): void
  /** Column, row and distance along the axis of a point; depth ≤ 0 is behind. */
  project(x: number, y: number, z: number): { readonly column: number; readonly row: number; readonly depth: number }
}

export function pinholeOf(view: TownView, width: number, height: number): Pinhole {
  const yaw = (view.yawDegrees * Math.PI) / 180
  const pitch = (view.pitchDegrees * Math.PI) / 180
  const focalPixels = width / 2 / Math.tan((view.horizontalFieldDegrees * Math.PI) / 360)
  const cx = (width - 1) / 2
  const cy = (height - 1) / 2
  const right = [Math.cos(yaw), -Math.sin(yaw), 0] as const
  const ahead = [Math.sin(yaw) * Math.cos(pitch), Math.cos(yaw) * Math.cos(pitch), Math.sin(pitch)] as const
  const up = [-Math.sin(yaw) * Math.sin(pitch), -Math.cos(yaw) * Math.sin(pitch), Math.cos(pitch)] as const
  return {
    x: view.eastMetres,
    y: view.northMetres,
    z: view.heightMetres,
    focalPixels,
    ray(column, row, out) {
      const a = (column - cx) / focalPixels
      const b = -(row - cy) / focalPixels
      const scale = 1 / Math.sqrt(1 + a * a + b * b)
      for (let i = 0; i < 3; i++) out[i] = (ahead[i]! + a * right[i]! + b * up[i]!) * scale
    },
    project(x, y, z) {
      const d = [x - view.eastMetres, y - view.northMetres, z - view.heightMetres] as const
      const along = (v: readonly [number, number, number]) => d[0] * v[0] + d[1] * v[1] + d[2] * v[2]
      const depth = along(ahead)
      return { column: cx + (along(right) / depth) * focalPixels, row: cy - (along(up) / depth) * focalPixels, depth }
    },
  }
}
