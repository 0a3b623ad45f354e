import { existsSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { samples, testCrew } from '../../../test/kernels.ts'
import { type FloatPicture, perspectiveView, readRgbe } from '../../../test/rgbe.ts'
import { chooseLook, finishTasks, measureScene, type PrintSettings, renderPrint8, renderPrint16 } from './index.ts'
import type { SceneFacts } from './look.ts'

const MIB = 1 << 20

async function print(
  picture: FloatPicture,
  options: { facts?: SceneFacts; bits?: 8 | 16; kernels?: 'plain' | 'simd'; settings?: PrintSettings } = {},
) {
  const { width, height } = picture
  const crew = testCrew(finishTasks, width * height * 24 + 8 * MIB, options.kernels ?? 'simd')
  const put = (values: Float32Array) => {
    const at = crew.arena.alloc(values.byteLength)
    crew.arena.f32(at, values.length).set(values)
    return at
  }
  const planes = { width, height, stride: width, r: put(picture.r), g: put(picture.g), b: put(picture.b) }
  const scene = await measureScene(crew, planes)
  const settings = options.settings ?? chooseLook(scene, options.facts)
  const n = width * height * 3
  const out = crew.arena.alloc(n * 2)
  if (options.bits === 16) await renderPrint16(crew, planes, scene, settings, out)
  else await renderPrint8(crew, planes, scene, settings, out)
  const codes = options.bits === 16 ? crew.arena.u16(out, n) : crew.arena.u8(out, n)
  return { codes, settings, scene }
}

function picture(width: number, height: number, pixel: (x: number, y: number) => readonly [number, number, number]) {
  const planes = [0, 1, 2].map(() => new Float32Array(width * height)) as [Float32Array, Float32Array, Float32Array]
  for (let i = 0; i < width * height; i++) {
    pixel(i % width, Math.floor(i / width)).forEach((v, c) => {
      planes[c]![i] = v
    })
  }
  return { width, height, r: planes[0], g: planes[1], b: planes[2] }
}

const grey = (v: number) => [v, v, v] as const
/** Linear luminance of a 16-bit code triple. */
const decode = (code: number) => {
  const c = code / 65535
  return c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4
}
const medianOf = (values: ArrayLike<number>) => Float64Array.from(values).sort()[values.length >> 1]!
const greens = (codes: ArrayLike<number>) => Array.from({ length: codes.length / 3 }, (_, i) => codes[i * 3 + 1]!)

/** A night: ground at 0.01, a dim sky above, a few lamps of up to 60 with their pools. */
const night = picture(512, 384, (x, y) => {
  const lamp = (lx: number, ly: number, power: number) => {
    const d2 = (x - lx) ** 2 + (y - ly) ** 2
    return d2 < 6 ? power : (power * 0.02) / (1 + d2 / 40)
  }
  const light = lamp(100, 250, 60) + lamp(300, 230, 30) + lamp(420, 300, 45)
  const sky = y < 180 ? 0.012 + 0.02 * (y / 180) : 0.01
  return [sky * (y < 180 ? 0.5 : 1) + light, sky * 0.7 + light * 0.6, sky * (y < 180 ? 1.2 : 0.8) + light * 0.2]
})

describe('the default look', () => {
  it('keeps a night dark: median far under mid-grey, blacks near black, lamps near white', async () => {
    const { codes } = await print(night)
    const g = greens(codes).sort((a, b) => a - b)
    const [low, middle, high] = [g[Math.floor(g.length * 0.01)]!, g[g.length >> 1]!, g[g.length - 1]!]
    console.log(`night: 1 % ${low}, median ${middle}, lamps ${high}`)
    expect(middle).toBeGreaterThan(25)
    expect(middle).toBeLessThan(85)
    expect(low).toBeLessThan(50)
    expect(high).toBeGreaterThan(225)
  })

  it('prints a daylight scene of five stops with its median within ten codes of mid-grey (118)', async () => {
    const day = picture(512, 384, (x, y) => grey(0.18 * 2 ** (2.4 * Math.sin(x / 37) * Math.cos(y / 29))))
    const { codes } = await print(day)
    const middle = medianOf(greens(codes))
    console.log(`day: median ${middle}`)
    expect(Math.abs(middle - 118)).toBeLessThanOrEqual(10)
  })

  it('prints a colourful daylight scene as bright as a grey one: median L* within 3 of 48', async () => {
    const colours = [
      [1, 0.1, 0.05],
      [0.1, 0.25, 1],
      [0.3, 0.9, 0.2],
      [0.9, 0.5, 0.1],
    ] as const
    const walls = picture(512, 384, (x, y) => {
      const colour = colours[Math.floor(x / 64) % 4]!
      const light = 0.3 * 2 ** (1.5 * Math.sin(x / 37) * Math.cos(y / 29))
      return [colour[0] * light, colour[1] * light, colour[2] * light]
    })
    const { codes } = await print(walls, { bits: 16, facts: { candelaPerSquareMetrePerUnit: 10_000 } })
    const luminances = Array.from(
      { length: codes.length / 3 },
      (_, i) =>
        0.2126 * decode(codes[i * 3]!) + 0.7152 * decode(codes[i * 3 + 1]!) + 0.0722 * decode(codes[i * 3 + 2]!),
    )
    const lightness = 116 * Math.cbrt(medianOf(luminances)) - 16
    console.log(`colourful day: median L* ${lightness.toFixed(1)}`)
    expect(Math.abs(lightness - 48)).toBeLessThan(3)
  })

  it('prints sunlit walls no duller for a black surround: within five codes of the same picture without one', async () => {
    // Shade at 0.05, sunlit walls at 0.7, the sun's glint at 1; then the same with a quarter of its area in the dark.
    const scene = (x: number, y: number) =>
      grey(x % 97 < 3 ? 1 : (x + y) % 128 < 40 ? 0.7 : 0.05 + 0.1 * ((x % 64) / 64))
    const facts = { candelaPerSquareMetrePerUnit: 10_000 }
    const wall = async (dark: number) => {
      const { codes } = await print(
        picture(512, 384, (x, y) => (y < dark ? grey(2 ** -12) : scene(x, y))),
        { facts },
      )
      const shown = greens(codes).filter((_, i) => Math.floor(i / 512) >= 96)
      return shown.sort((a, b) => a - b)[Math.floor(shown.length * 0.9)]!
    }
    const [without, within] = [await wall(0), await wall(96)]
    console.log(`sunlit walls: ${without}; within a black surround: ${within}`)
    expect(without).toBeGreaterThan(200)
    expect(Math.abs(within - without)).toBeLessThanOrEqual(5)
  })

  it('takes night from the known luminance when the scene itself does not tell', async () => {
    const even = picture(256, 192, (x, y) => grey(0.1 * 2 ** (Math.sin(x / 11) + Math.sin(y / 17))))
    const dark = medianOf(greens((await print(even, { facts: { candelaPerSquareMetrePerUnit: 1 } })).codes))
    const bright = medianOf(greens((await print(even, { facts: { candelaPerSquareMetrePerUnit: 50000 } })).codes))
    console.log(`the same field at 0.1 cd/m²: ${dark}; at 5000 cd/m²: ${bright}`)
    expect(dark).toBeLessThan(90)
    expect(bright).toBeGreaterThan(105)
  })

  it('does not change when the radiance is multiplied by 1/64 or by 16', async () => {
    const { codes, settings } = await print(night)
    for (const k of [-6, 4]) {
      const scale = 2 ** k
      const scaled = {
        ...night,
        r: night.r.map((v) => v * scale),
        g: night.g.map((v) => v * scale),
        b: night.b.map((v) => v * scale),
      }
      const other = await print(scaled)
      expect(other.settings.anchorStops - settings.anchorStops).toBeCloseTo(k, 3)
      let worst = 0
      other.codes.forEach((v, i) => {
        worst = Math.max(worst, Math.abs(v - codes[i]!))
      })
      console.log(`radiance × 2^${k}: worst difference ${worst} codes`)
      expect(worst).toBeLessThanOrEqual(1)
    }
  })

  it('leaves greys grey: 16-bit channels equal to 4 codes from black to white', async () => {
    const { codes } = await print(
      picture(512, 64, (x) => grey(2 ** (-10 + x / 32))),
      { bits: 16 },
    )
    let worst = 0
    for (let i = 0; i < codes.length; i += 3) {
      worst = Math.max(worst, Math.abs(codes[i]! - codes[i + 1]!), Math.abs(codes[i + 2]! - codes[i + 1]!))
    }
    console.log(`greys: worst channel difference ${worst} of 65535`)
    expect(worst).toBeLessThanOrEqual(4)
  })

  it.each([2, 4, 6, 8])('overshoots a roofline of %i stops by no more than 3 percent', async (stops) => {
    // A dark roof with a jagged edge under a bright sky, and some of both far away, so that range is compressed.
    const edge = picture(768, 512, (x, y) => {
      const roof = y > 256 + 20 * Math.sign(Math.sin(x / 90))
      return grey(roof ? 0.02 : 0.02 * 2 ** stops)
    })
    const first = await print(edge, { bits: 16 })
    const settings = { ...first.settings, baseCompression: 0.5 }
    const { codes } = await print(edge, { bits: 16, settings })
    const column = (x: number) => Array.from({ length: 512 }, (_, y) => decode(codes[(y * 768 + x) * 3 + 1]!))
    let worst = 0
    let where = ''
    for (const x of [40, 200, 384, 500, 700]) {
      const profile = column(x)
      const [sky, roof] = [profile[2]!, profile[509]!]
      profile.forEach((v, y) => {
        const over = v > (sky + roof) / 2 ? (v - sky) / sky : (roof - v) / roof
        if (over > worst) {
          worst = over
          where = `x ${x} y ${y}`
        }
      })
    }
    console.log(`step of ${stops} stops: overshoot ${(worst * 100).toFixed(2)} % ${where}`)
    expect(worst).toBeLessThanOrEqual(0.03)
  })

  it('survives samples that are no numbers, negative or absent light', async () => {
    const strange = picture(64, 48, (x, y) =>
      x === 10 && y === 10 ? [Number.NaN, 1, 1] : x === 30 ? [Number.POSITIVE_INFINITY, 1, 1] : [-0.1, 0.2, 0.01],
    )
    const { codes, settings } = await print(strange)
    expect(Number.isFinite(settings.anchorStops)).toBe(true)
    expect(codes[(40 * 64 + 50) * 3 + 1]).toBeGreaterThan(0)
    const black = await print(picture(40, 30, () => grey(0)))
    expect(Math.max(...black.codes)).toBeLessThanOrEqual(1)
  })
})

const city = join(samples, 'radiance/city_waterfront_night_1024x512.hdr')
const dawn = join(samples, 'radiance/dawn_1024x512.hdr')

describe.skipIf(!existsSync(city))('prints of real radiance maps (sample files absent)', () => {
  const view = (path: string, yaw: number) =>
    perspectiveView(readRgbe(path), { yaw, pitch: 6, fieldOfView: 75, width: 480, height: 320 })

  it('a city at night stays night and its signs keep their colours', async () => {
    const { codes } = await print(view(city, 38))
    const g = greens(codes)
    console.log(`city: median ${medianOf(g)}`)
    expect(medianOf(g)).toBeLessThan(70)
    let vivid = 0
    for (let i = 0; i < codes.length; i += 3) {
      const [r, gg, b] = [codes[i]!, codes[i + 1]!, codes[i + 2]!]
      if (Math.max(r, gg, b) > 170 && Math.min(r, gg, b) < 90) vivid++
    }
    expect(vivid).toBeGreaterThan(500)
  })

  it('the plain and the fast kernels give the same print to one code', async () => {
    const picture = view(dawn, 38)
    const fast = await print(picture)
    const slow = await print(picture, { kernels: 'plain', settings: fast.settings })
    let differing = 0
    fast.codes.forEach((v, i) => {
      expect(Math.abs(v - slow.codes[i]!)).toBeLessThanOrEqual(1)
      if (v !== slow.codes[i]) differing++
    })
    console.log(`plain and fast print: ${((100 * differing) / fast.codes.length).toFixed(2)} % of codes differ by one`)
  })
})
