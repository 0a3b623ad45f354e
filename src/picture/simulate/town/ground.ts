import { isLane, roads } from './ground-plan.ts'
import { ease, hash, layers, noise2 } from './noise.ts'
import { lock, offBank, sideOf } from './river.ts'

/** The colour that the ground reflects at a place; `grain` is the size of a pixel there in metres. */
export function paintGround(x: number, y: number, grain: number, albedo: Float64Array): void {
  const off = offBank(x, y)
  const side = sideOf(x, y)
  const lines = side < 0 ? roads.left : roads.right
  let toRoad = Infinity
  for (let i = 0; i < lines.length; i++) toRoad = Math.min(toRoad, Math.abs(off - lines[i]!))
  const isStreet = toRoad < 3.1 || (isLane(y) && off < 560)
  const isQuay = off < (side < 0 ? 9.5 : 22.5)
  const fine = ease(0.6, 0.1, grain)
  const patch = 0.78 + 0.44 * layers(x * 0.22, y * 0.22, 41, 3)
  if (isQuay || isStreet) {
    const isPath = isQuay && toRoad > 3.1
    const atLock = y > lock.south - 4 && y < lock.north + 4
    const isMeadow = atLock
      ? off > lock.far + 1.5 && off < 20
      : off > 1.6 && off < 20 && Math.abs(off - 10.5 - 3 * noise2(y * 0.03, 7, 44)) > 1.1
    const isGrass = isPath && side > 0 && isMeadow
    if (isGrass) {
      albedo.set([0.05 * patch, 0.08 * patch, 0.03 * patch])
      return
    }
    // Setts: rows of stones with dark joints; a kerb along the road.
    const setts = 1 + fine * 0.5 * (hash(Math.floor(x / 0.42), Math.floor(y / 0.3), 42) - 0.5)
    const kerb = toRoad > 3 && toRoad < 3.25 ? 1.5 : 1
    const base = isPath ? 0.2 : 0.13
    const k = base * patch * setts * kerb
    albedo.set([k * 1.04, k, k * 0.94])
    // The coping stone at the water's edge.
    const byLock = side > 0 && atLock && (Math.abs(off - lock.near) < 0.7 || Math.abs(off - lock.far) < 0.7)
    if (off < 0.7 || byLock) albedo.fill(0.32 * patch)
    return
  }
  if (off > 560 || y > 1150) {
    // Fields in strips, with hedges between them.
    const fx = x / 90 + 0.3 * noise2(x * 0.01, y * 0.01, 45)
    const fy = y / 60
    const tone = hash(Math.floor(fx), Math.floor(fy), 46)
    const hedge = Math.min(fx - Math.floor(fx), fy - Math.floor(fy)) < 0.05 ? 0.35 : 1
    albedo.set([(0.06 + 0.1 * tone) * hedge * patch, (0.075 + 0.07 * tone) * hedge * patch, 0.035 * hedge * patch])
    return
  }
  const garden = layers(x * 0.35, y * 0.35, 47, 3)
  const grass = 0.6 + 0.8 * garden
  if (noise2(x * 0.16, y * 0.16, 48) > 0.62) albedo.set([0.14 * patch, 0.115 * patch, 0.085 * patch])
  else albedo.set([0.05 * grass, 0.078 * grass, 0.028 * grass])
}
