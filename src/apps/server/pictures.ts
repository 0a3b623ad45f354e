import { join } from 'node:path'
import { Failure } from '#core/base'
import { crewKeeper, type Desk, framePicture, frameThumbnail, openDesk } from '#jobs'
import type { Host, Pixels8, PrintSettings } from '#jobs/contract'

export const TILE = 512
const TILE_QUALITY = 88
const SMALL_QUALITY = 80
/** Whole pictures kept at one time, in bytes: five of 12 megapixels, or one of 48 with its reduced forms. */
const MOST_BYTES = 320 << 20
const MOST_SMALL_BYTES = 64 << 20
/** Threads and memory of pictures that nobody looks at are given back after this. */
const IDLE_MILLISECONDS = 30_000
/** Waiting for pictures; whoever scrolls past takes the wish back or asks again. */
const MOST_WAITING = 600

interface Pyramid {
  readonly levels: readonly Pixels8[]
  readonly bytes: number
}

/** Keeps what was made lately, up to a number of bytes. */
function recent<T>(most: number, bytesOf: (value: T) => number) {
  const kept = new Map<string, { value: T; bytes: number }>()
  let total = 0
  return {
    get(key: string): T | undefined {
      const found = kept.get(key)
      if (!found) return undefined
      kept.delete(key)
      kept.set(key, found)
      return found.value
    },
    put(key: string, value: T) {
      const bytes = bytesOf(value)
      kept.set(key, { value, bytes })
      total += bytes
      for (const [old, entry] of kept) {
        if (total <= most || kept.size === 1) break
        kept.delete(old)
        total -= entry.bytes
      }
    },
    clear() {
      kept.clear()
      total = 0
    },
  }
}

/** One thing after the other: the crew and its memory serve one picture at a time. */
function line() {
  let last: Promise<unknown> = Promise.resolve()
  let waiting = 0
  return <T>(work: () => Promise<T>): Promise<T> => {
    if (waiting >= MOST_WAITING) throw new Failure('limit', 'too-many-requests', { limit: MOST_WAITING })
    waiting++
    const next = last.then(work, work).finally(() => waiting--)
    last = next.catch(() => {})
    return next
  }
}

/** Pictures of frames and merges for the page: small ones, and whole ones in tiles. */
export function createPictures(host: Host) {
  const whole = recent<Pyramid>(MOST_BYTES, (p) => p.bytes)
  const small = recent<Uint8Array>(MOST_SMALL_BYTES, (b) => b.length)
  const making = new Map<string, Promise<unknown>>()
  const inTurn = line()
  let keeper: ReturnType<typeof crewKeeper> | null = null
  let desk: { key: string; open: Promise<Desk> } | null = null
  let idle: NodeJS.Timeout | null = null

  const rest = () => {
    if (idle) clearTimeout(idle)
    idle = setTimeout(() => void closeCrew(), IDLE_MILLISECONDS)
    idle.unref()
  }
  const closeCrew = () =>
    inTurn(async () => {
      await keeper?.close()
      keeper = null
    })
  const withCrew = (bytes: number) => {
    keeper ??= crewKeeper(host)
    return keeper.of(bytes)
  }

  /** Made once, however many ask meanwhile. */
  function once<T>(key: string, make: () => Promise<T>): Promise<T> {
    const found = making.get(key) as Promise<T> | undefined
    if (found) return found
    const made = make().finally(() => making.delete(key))
    making.set(key, made)
    return made
  }

  async function pyramidOf(first: Pixels8): Promise<Pyramid> {
    const levels = [first]
    while (Math.max(levels.at(-1)!.width, levels.at(-1)!.height) > TILE) {
      const last = levels.at(-1)!
      levels.push(await host.codec.reduce(last, Math.ceil(Math.max(last.width, last.height) / 2)))
    }
    return { levels, bytes: levels.reduce((sum, l) => sum + l.data.length, 0) }
  }

  const pyramid = (key: string, make: () => Promise<Pixels8>): Promise<Pyramid> => {
    const found = whole.get(key)
    if (found) return Promise.resolve(found)
    return once(`whole ${key}`, async () => {
      const made = await pyramidOf(await make())
      whole.put(key, made)
      return made
    })
  }

  async function deskFor(key: string, path: string): Promise<Desk> {
    if (desk?.key !== key) {
      const old = desk
      desk = {
        key,
        open: (async () => {
          await old?.open.then((d) => d.close()).catch(() => {})
          return openDesk(host, path)
        })(),
      }
      const { open } = desk
      open.catch(() => {
        if (desk?.open === open) desk = null
      })
    }
    return desk.open
  }

  return {
    frame: (path: string, stamp: string) =>
      pyramid(`frame ${path} ${stamp}`, () => inTurn(() => framePicture(host, withCrew, path).finally(rest))),
    print: (path: string, stamp: string) =>
      pyramid(`print ${path} ${stamp}`, async () => {
        const pixels = await host.codec.decode(await host.files.read(path))
        return pixels
      }),
    desk: (folder: string, id: string, stamp: string) =>
      deskFor(`${folder} ${id} ${stamp}`, join(folder, 'brackets', id, 'radiance.exr')),
    async merged(folder: string, id: string, stamp: string, settings: PrintSettings | null) {
      const open = () => deskFor(`${folder} ${id} ${stamp}`, join(folder, 'brackets', id, 'radiance.exr'))
      return pyramid(`merged ${folder} ${id} ${stamp} ${JSON.stringify(settings)}`, async () => {
        const found = await open()
        return found.whole(settings ?? found.state.automatic)
      })
    },
    small(path: string, stamp: string, side: number): Promise<Uint8Array> {
      const key = `${path} ${stamp} ${side}`
      const found = small.get(key)
      if (found) return Promise.resolve(found)
      return once(`small ${key}`, async () => {
        const pixels = await inTurn(() => frameThumbnail(host, withCrew, path, side).finally(rest))
        const bytes = await host.codec.encodeJpeg(pixels, SMALL_QUALITY, none)
        small.put(key, bytes)
        return bytes
      })
    },
    /** A finished picture made smaller. */
    reduced(path: string, stamp: string, side: number): Promise<Uint8Array> {
      const key = `reduced ${path} ${stamp} ${side}`
      const found = small.get(key)
      if (found) return Promise.resolve(found)
      return once(key, async () => {
        const pixels = await host.codec.reduce(await host.codec.decode(await host.files.read(path)), side)
        const bytes = await host.codec.encodeJpeg(pixels, SMALL_QUALITY, none)
        small.put(key, bytes)
        return bytes
      })
    },
    tile: ({ levels }: Pyramid, level: number, column: number, row: number) => tileOf(host, levels, level, column, row),
    async close() {
      if (idle) clearTimeout(idle)
      await closeCrew()
      await desk?.open.then((d) => d.close()).catch(() => {})
      desk = null
      whole.clear()
      small.clear()
    },
  }
}

export type Pictures = ReturnType<typeof createPictures>

/** Tiles are for the eye: no metadata, and sRGB is what a browser takes a picture without a profile for. */
const none = { exif: null, icc: new Uint8Array() }

function tileOf(host: Host, levels: readonly Pixels8[], level: number, column: number, row: number) {
  const of = levels[level]
  const left = column * TILE
  const top = row * TILE
  if (!of || !(left >= 0 && top >= 0 && left < of.width && top < of.height))
    throw new Failure('usage', 'no-such-picture', { wanted: `${level}/${column}/${row}` })
  const width = Math.min(TILE, of.width - left)
  const height = Math.min(TILE, of.height - top)
  const data = new Uint8Array(width * height * of.channels)
  for (let y = 0; y < height; y++) {
    const from = ((top + y) * of.width + left) * of.channels
    data.set(of.data.subarray(from, from + width * of.channels), y * width * of.channels)
  }
  return host.codec.encodeJpeg({ width, height, channels: of.channels, data }, TILE_QUALITY, none)
}
