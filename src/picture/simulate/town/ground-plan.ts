import { fromBank, offBank, sideOf } from './river.ts'

/** Roads run along the river at these distances from the banks. */
export const roads = {
  left: [12, 50, 92, 136, 182, 230, 280, 335, 395, 460, 530],
  right: [25, 66, 108, 152, 198, 246, 298, 355, 415, 480, 550],
} as const

/** The last houses stand here, north. */
export const NORTH_END = 1150

/** Lanes down to the river, north; the same on both banks. */
export const isLane = (y: number) => {
  const at = (((y - 20) % 74) + 74) % 74
  return at < 7
}

/** Inside what the camera can ever see, with room for shadows and turns. */
export const isNear = (x: number, y: number) => y > 20 && Math.abs(x) < 120 + y * 0.95

/** Ground that special buildings take. */
export const isTaken = (x: number, y: number) =>
  (sideOf(x, y) < 0 && offBank(x, y) < 32 && y > 164 && y < 214) ||
  Math.hypot(x - church.x, y - church.y) < 38 ||
  (Math.abs(y - bridgeNorth) < 9 && offBank(x, y) < 22)

/** Where the bridge crosses, and where the church stands. */
export const bridgeNorth = 372
export const church = (() => {
  const p = fromBank(1, 86, 318)
  return { x: p.x, y: p.y + 6 }
})()
