import { seededRandom } from '#core/base'
import type { BracketPlan, FramePlan, TownView } from '#picture/simulate'

/** One bracket of the demonstration: what is taken, how it is stored, and whether JPEGs stand beside it. */
export interface DemoShoot {
  readonly id: string
  /** The scene in a few words. */
  readonly scene: string
  readonly plan: BracketPlan
  readonly withCompanions: boolean
  /** Index of the frame of middle exposure in `plan.frames`: the truth is its. */
  readonly reference: number
}

interface Intent {
  readonly id: string
  readonly scene: string
  readonly view: TownView
  readonly width: number
  readonly height: number
  /** Stated times in the order taken, seconds. */
  readonly seconds: readonly number[]
  readonly startSeconds: number
  readonly packing: NonNullable<BracketPlan['packing']>
  readonly littleEndian: boolean
  readonly withCompanions: boolean
  /** Typical drift from frame to frame, pixels at full size, and turn, degrees. */
  readonly driftPixels: number
  readonly turnDegrees: number
  readonly blackLevels: readonly [number, number, number, number]
}

const town = { seed: 7, horizontalFieldDegrees: 71 } as const
const evenBlack = [256, 256, 256, 256] as const
/** 2027-02-09 17:46 by the camera's clock, which stands one hour east of Greenwich. */
const EVENING = Date.UTC(2027, 1, 9, 17, 46, 0)
const OFFSET_MINUTES = 60
/** Dusk falls: light lost in a second, as a share. A stop in about three minutes. */
const FADING = 0.0038

const intents: readonly Intent[] = [
  {
    id: 'single',
    scene: 'a trial exposure before the first bracket',
    view: { ...town, eastMetres: -20, northMetres: -4, heightMetres: 44, yawDegrees: 9, pitchDegrees: -12 },
    width: 2000,
    height: 1500,
    seconds: [1 / 15],
    startSeconds: 4,
    packing: { kind: 'lossless-jpeg', tile: 256 },
    littleEndian: true,
    withCompanions: false,
    driftPixels: 0,
    turnDegrees: 0,
    blackLevels: evenBlack,
  },
  {
    id: '0001',
    scene: 'the river town at dusk, from over the river: seven frames, one stop apart',
    view: { ...town, eastMetres: -14, northMetres: 0, heightMetres: 52, yawDegrees: 2, pitchDegrees: -15 },
    width: 4000,
    height: 3000,
    seconds: [1 / 60, 1 / 30, 1 / 15, 1 / 8, 1 / 4, 1 / 2, 1],
    startSeconds: 62,
    packing: { kind: 'lossless-jpeg', tile: 256 },
    littleEndian: true,
    withCompanions: false,
    driftPixels: 3.2,
    turnDegrees: 0.035,
    blackLevels: evenBlack,
  },
  {
    id: '0002',
    scene: 'streets and sodium lamps on the left bank: five frames, one and a half stops apart, packed, big-endian',
    view: { ...town, eastMetres: 34, northMetres: 64, heightMetres: 42, yawDegrees: -20, pitchDegrees: -14 },
    width: 2000,
    height: 1500,
    seconds: [1 / 8, 1 / 60, 1 / 20, 1 / 3, 1],
    startSeconds: 131,
    packing: { kind: 'packed' },
    littleEndian: false,
    withCompanions: true,
    driftPixels: 1.6,
    turnDegrees: 0.05,
    blackLevels: [254, 256, 257, 255],
  },
  {
    id: '0003',
    scene: 'mill, weir and lock: five frames, two stops apart, deflated',
    view: { ...town, eastMetres: 6, northMetres: 92, heightMetres: 34, yawDegrees: 0, pitchDegrees: -17 },
    width: 2000,
    height: 1500,
    seconds: [1 / 120, 1 / 30, 1 / 8, 1 / 2, 2],
    startSeconds: 188,
    packing: { kind: 'deflate', tile: 256 },
    littleEndian: true,
    withCompanions: false,
    driftPixels: 2.2,
    turnDegrees: 0.03,
    blackLevels: evenBlack,
  },
]

/** Camera time of a moment in seconds after the evening's start. */
function clock(seconds: number): { camera: string; subSecond: number } {
  const milliseconds = Math.round(seconds * 1000)
  const subSecond = (milliseconds % 1000) / 1000
  return { camera: new Date(EVENING + milliseconds).toISOString().slice(0, 19), subSecond }
}

const round = (n: number, step: number) => Math.round(n / step) * step

function framesOf(intent: Intent, seed: number, scale: number): { frames: FramePlan[]; reference: number } {
  const random = seededRandom(seed)
  const sorted = [...intent.seconds].sort((a, b) => a - b)
  const middle = sorted[sorted.length >> 1]!
  const reference = intent.seconds.indexOf(middle)
  let at = intent.startSeconds
  let x = 0
  let y = 0
  let turn = 0
  const placed = intent.seconds.map((seconds) => {
    const moment = at + seconds / 2
    // Shutters keep their steps to about a hundredth.
    const trueSeconds = seconds * (1 + 0.008 * random.normal())
    const frame = { seconds, trueSeconds, at, moment, x, y, turn }
    x += intent.driftPixels * random.normal() * scale
    y += intent.driftPixels * random.normal() * scale
    turn += intent.turnDegrees * random.normal()
    at += seconds + 0.45
    return frame
  })
  const base = placed[reference]!
  const frames = placed.map((f, i): FramePlan => {
    const lateness = f.moment - base.moment
    // About the reference: its own content stands still by definition.
    const back = (-base.turn * Math.PI) / 180
    const dx = f.x - base.x
    const dy = f.y - base.y
    return {
      statedSeconds: f.seconds,
      ratio: i === reference ? 1 : (f.trueSeconds / base.trueSeconds) * (1 - FADING) ** lateness,
      motion: {
        x: round(Math.cos(back) * dx - Math.sin(back) * dy, 0.001),
        y: round(Math.sin(back) * dx + Math.cos(back) * dy, 0.001),
        rotationDegrees: round(f.turn - base.turn, 0.0001),
      },
      ...clock(f.at),
      attitude: {
        relativeHeightMetres: round(intent.view.heightMetres + 0.1 * random.normal(), 0.1),
        gimbalPitch: intent.view.pitchDegrees,
        gimbalYaw: round(intent.view.yawDegrees + 0.05 * random.normal(), 0.1),
        gimbalRoll: 0,
        flightYaw: round(intent.view.yawDegrees + 0.8 * random.normal(), 0.1),
        flightPitch: round(-1.5 + 0.7 * random.normal(), 0.1),
        flightRoll: round(0.7 * random.normal(), 0.1),
        speedNorth: round(0.06 * random.normal(), 0.1),
        speedEast: round(0.06 * random.normal(), 0.1),
        speedDown: 0,
      },
    }
  })
  return { frames, reference }
}

/** The evening's shoots in the order taken. `scale` shrinks the pictures (and the drift in pixels) for quick trials. */
export function demoShoots(sensor: NonNullable<BracketPlan['sensor']>, scale: number): DemoShoot[] {
  return intents.map((intent, index) => {
    const { frames, reference } = framesOf(intent, 4100 + index, scale)
    const size = (n: number) => Math.max(16, 2 * Math.round((n * scale) / 2))
    return {
      id: intent.id,
      scene: intent.scene,
      withCompanions: intent.withCompanions,
      reference,
      plan: {
        scene: { kind: 'town', view: intent.view },
        width: size(intent.width),
        height: size(intent.height),
        seed: 4100 + index,
        frames,
        sensor: { ...sensor, black: intent.blackLevels },
        packing: intent.packing,
        littleEndian: intent.littleEndian,
        offsetMinutes: OFFSET_MINUTES,
      },
    }
  })
}
