import { type Random, seededRandom } from '#core/base'
import type { CardEntry, PictureEntry } from '#picture/card'

/** What the files of a made card are like. */
export interface CameraHabits {
  /** What the card holds of each exposure. */
  readonly files: 'raw' | 'raw+jpeg' | 'jpeg'
  readonly subSeconds: boolean
  readonly attitude: boolean
  /** Exposure times as engraved on dials, as whole fractions and tenths, or to the microsecond. */
  readonly tags: 'nominal' | 'fraction' | 'micro'
  readonly stamp: 'start' | 'end'
  readonly writeSeconds: number
  /** The camera takes a dark frame as long as the exposure after each one of a second or more. */
  readonly darkFrames: boolean
  /** Times of the satellite receiver stand in the files. */
  readonly receiver: boolean
  readonly baseSeconds: number
  readonly stepStops: number
}

/** A question that the card itself leaves open, and the frames it is about. */
export interface Ambiguity {
  readonly kind: 'cut-short' | 'missing-frame' | 'iso' | 'order' | 'no-exposure' | 'boundary'
  readonly frames: readonly string[]
}

/** A card with what really happened. */
export interface MessyCard {
  readonly name: string
  readonly entries: readonly CardEntry[]
  /** Frame names, bracket by bracket; every other frame is a single. */
  readonly brackets: readonly (readonly string[])[]
  readonly ambiguities: readonly Ambiguity[]
}

const NOMINAL = [
  ...[8000, 6400, 5000, 4000, 3200, 2500, 2000, 1600, 1250, 1000, 800, 640, 500, 400, 320, 250, 200, 160, 125, 100, 80],
  ...[60, 50, 40, 30, 25, 20, 15, 13, 10, 8, 6, 5, 4],
].map((n) => 1 / n)
const LONG_NOMINAL = [0.3, 0.4, 0.5, 0.6, 0.8, 1, 1.3, 1.6, 2, 2.5, 3.2, 4, 5, 6, 8, 10, 13, 15, 20, 25, 30]
const NOMINALS = [...NOMINAL, ...LONG_NOMINAL]

/** The n-th third of a stop from 1/8192 s, as dials show it. */
const nominal = (seconds: number) => NOMINALS[Math.round(3 * (Math.log2(seconds) + 13))] ?? seconds

function tagOf(seconds: number, style: CameraHabits['tags']): number {
  if (style === 'micro') return Math.round(seconds * 1e6) / 1e6
  if (style === 'nominal') return nominal(seconds)
  return seconds < 0.3 ? 1 / Math.round(1 / seconds) : Math.round(seconds * 10) / 10
}

/** Takes a card's pictures one after another with an invented camera, and remembers what was meant. */
export class Photographer {
  readonly random: Random
  habits: CameraHabits
  entries: CardEntry[] = []
  brackets: string[][] = []
  ambiguities: Ambiguity[] = []
  /** True time, seconds since 1970. */
  now = Date.parse('2027-02-09T16:40:00Z') / 1000
  /** What the camera's clock shows beyond UTC. */
  clockSeconds = 3600
  counter = 1
  folder = 'DCIM/100MOONS/'
  prefix = 'WEIR_'
  model = 'Lantern'
  yaw = 0
  pitch = -10
  height = 60
  width = 4032
  iso = 100
  /** Stops by which automatic exposure has moved. */
  drift = 0
  private fresh = true
  /** Steps of each bracket from its first frame. */
  private taken: number[][] = []

  constructor(seed: number, habits: Partial<CameraHabits> = {}) {
    this.random = seededRandom(seed)
    this.habits = {
      files: this.pick(['raw', 'raw+jpeg', 'jpeg'] as const),
      subSeconds: this.chance(0.5),
      attitude: this.chance(0.7),
      tags: this.pick(['nominal', 'fraction', 'micro'] as const),
      stamp: this.pick(['start', 'end'] as const),
      writeSeconds: this.between(0.2, 1.2),
      darkFrames: false,
      receiver: this.chance(0.3),
      baseSeconds: 2 ** (this.whole(-18, -2) / 3),
      stepStops: this.pick([2 / 3, 2 / 3, 1, 1, 4 / 3, 2]),
      ...habits,
    }
  }

  pick<T>(list: readonly T[]): T {
    return list[Math.floor(this.random.uniform() * list.length)]!
  }
  chance(p: number): boolean {
    return this.random.uniform() < p
  }
  between(low: number, high: number): number {
    return low + (high - low) * this.random.uniform()
  }
  whole(low: number, high: number): number {
    return Math.floor(this.between(low, high + 1))
  }

  wait(seconds: number): this {
    this.now += seconds
    return this
  }
  turn(degrees: number): this {
    this.yaw = ((this.yaw + degrees + 540) % 360) - 180
    return this
  }

  /** One exposure; returns the frame's name. `bare` leaves the exposure tags out. */
  expose(stops: number, { bare = false, write = true } = {}): string {
    const { habits, random } = this
    const ideal = (habits.baseSeconds * 2 ** (stops + this.drift) * 100) / this.iso
    const seconds = habits.tags === 'nominal' ? 2 ** (Math.round(3 * Math.log2(ideal)) / 3) : ideal
    const began = this.now
    this.now += seconds
    const stamped = (habits.stamp === 'start' ? began : this.now) + this.clockSeconds
    if (habits.darkFrames && seconds >= 1) this.now += seconds
    this.now += habits.writeSeconds * this.between(0.8, 1.3)
    const name = `${this.folder}${this.prefix}${String(this.counter).padStart(4, '0')}`
    this.counter = (this.counter % 9999) + 1
    const wholeSeconds = Math.floor(stamped)
    const jitter = () => 0.08 * random.normal()
    const facts: PictureEntry['facts'] = {
      exposureSeconds: bare ? null : tagOf(seconds, habits.tags),
      fNumber: bare ? null : 1.7,
      iso: bare ? null : this.iso,
      ev100: null,
      focalLengthMillimetres: 6.7,
      takenAt: {
        utc: null,
        camera: new Date(wholeSeconds * 1000).toISOString().slice(0, 19),
        offsetMinutes: null,
        subSecond: habits.subSeconds ? Math.round((stamped - wholeSeconds) * 1000) / 1000 : 0,
      },
      ...(habits.receiver ? { receiverUtc: `${new Date(Math.floor(began) * 1000).toISOString().slice(0, 19)}Z` } : {}),
      make: 'Invented',
      model: this.model,
      attitude: habits.attitude
        ? {
            relativeHeightMetres: this.height + jitter(),
            gimbalPitch: this.pitch + 0.5 * jitter(),
            gimbalYaw: this.yaw + jitter(),
            gimbalRoll: 0,
            flightYaw: this.yaw + 5 * jitter(),
            flightPitch: jitter(),
            flightRoll: jitter(),
            speedNorth: 0,
            speedEast: 0,
            speedDown: 0,
          }
        : null,
      position: null,
    }
    const size = { width: this.width, height: (this.width * 3) / 4 }
    const file = `${name}.${habits.files === 'jpeg' ? 'JPG' : 'DNG'}`
    if (write) {
      this.entries.push({ file, kind: habits.files === 'jpeg' ? 'rendered' : 'raw', ...size, facts })
      if (habits.files === 'raw+jpeg') {
        this.entries.push({ file: `${name}.JPG`, kind: 'rendered', width: 3992, height: 2992, facts })
      }
    }
    this.fresh = false
    return file
  }

  /** A picture by itself, some seconds after the one before. */
  single(stops = 0, pause = this.between(4, 20)): this {
    this.wait(this.fresh ? 0 : pause).expose(stops)
    return this
  }

  /** A bracket in the given order of steps, `pause` seconds after the frame before. */
  bracket(
    order: readonly number[],
    more: {
      pause?: number
      /** Only so many frames are taken. */
      abortAfter?: number
      /** Frames that were taken and then lost. */
      lost?: readonly number[]
      /** Frames from here on at another ISO, the product of time and ISO stepping on. */
      isoFrom?: readonly [index: number, iso: number]
      bare?: readonly number[]
      /** Seconds between frames beyond the camera's own pace. */
      between?: () => number
    } = {},
  ): this {
    const { pause = this.between(3, 15), abortAfter = order.length, lost = [], isoFrom, bare = [] } = more
    this.wait(this.fresh ? 0 : pause)
    const names: string[] = []
    const iso = this.iso
    for (const [i, step] of order.slice(0, abortAfter).entries()) {
      if (i > 0) this.wait(more.between?.() ?? 0)
      if (isoFrom && i >= isoFrom[0]) this.iso = isoFrom[1]
      const name = this.expose(step * this.habits.stepStops, { bare: bare.includes(i), write: !lost.includes(i) })
      if (!lost.includes(i)) names.push(name)
    }
    this.iso = iso
    if (names.length > 1) {
      this.brackets.push(names)
      this.taken.push(order.slice(0, abortAfter).map((s) => s - order[0]!))
    }
    const note = (kind: Ambiguity['kind']) => this.ambiguities.push({ kind, frames: names })
    if (abortAfter < order.length || lost.length > 0) {
      note('cut-short')
      note('missing-frame')
      // Two that are left of more look like two pictures, and whatever comes next may have belonged to them.
      if (names.length === 2) note('boundary')
    }
    if (isoFrom) note('iso')
    if (bare.length > 0) note('no-exposure')
    return this
  }

  card(name: string): MessyCard {
    const { entries, brackets, taken } = this
    // Three of three, or the first three of the five that come again and again? The card does not say.
    const count = (wanted: (other: readonly number[]) => boolean) => taken.filter(wanted).length
    const prefixes = taken.flatMap((steps, i) => {
      const same = count((other) => other.join() === steps.join())
      const longer = count((other) => other.length > steps.length && steps.every((s, k) => s === other[k]))
      return longer >= 3 * same || (same === 1 && longer > 1) ? [brackets[i]!] : []
    })
    const ambiguities = [...this.ambiguities, ...prefixes.map((frames) => ({ kind: 'cut-short' as const, frames }))]
    return { name, entries, brackets, ambiguities }
  }
}

/** Orders in which cameras take their brackets, in steps from the middle. */
export const orders = {
  rising: (n: number) => Array.from({ length: n }, (_, i) => i - Math.floor((n - 1) / 2)),
  falling: (n: number) => orders.rising(n).reverse(),
  /** 0 − + −− ++ */
  middleFirst: (n: number) => {
    const order = [0]
    for (let k = 1; order.length < n; k++) order.push(...[-k, k].slice(0, n - order.length))
    return order
  },
  /** 0 −− − + ++: the middle one, then the rest from the shortest. */
  middleThenRising: (n: number) => [0, ...orders.rising(n).filter((s) => s !== 0)],
} as const
export const orderNames = ['rising', 'falling', 'middleFirst', 'middleThenRising'] as const
