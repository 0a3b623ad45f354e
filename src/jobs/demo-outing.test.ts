import { beforeAll, describe, expect, it } from 'vitest'
import { readExr } from '#core/formats'
import { floatFromHalf } from '#core/kernels'
import { outingSchema } from '#jobs/schemas'
import { describeRaw } from '#picture/raw'
import { lantern, simulateTasks } from '#picture/simulate'
import { testCrew } from '../../test/kernels.ts'
import { readingHost } from '../../test/reading-host.ts'
import type { Host, Pixels8 } from './contract/index.ts'
import { type DemoOuting, writeDemoOuting } from './demo-outing.ts'
import { demoShoots } from './demo-plan.ts'

/** A host that keeps what is written in memory; its codec notes what it was given. */
function keepingHost() {
  const written = new Map<string, Uint8Array>()
  const jpegs: { pixels: Pixels8; exif: Uint8Array | null }[] = []
  const folders: string[] = []
  const base = readingHost().host
  const host: Host = {
    ...base,
    files: {
      ...base.files,
      exists: async () => false,
      async makeDirectory(path) {
        folders.push(path)
      },
      async write(path, parts) {
        const list = typeof parts === 'string' ? [Buffer.from(parts)] : parts instanceof Uint8Array ? [parts] : parts
        written.set(path, new Uint8Array(Buffer.concat(list)))
      },
    },
    codec: {
      ...base.codec,
      async encodeJpeg(pixels, _quality, metadata) {
        jpegs.push({ pixels, exif: metadata.exif })
        return Uint8Array.of(0xff, 0xd8, 0xff, 0xd9)
      },
    },
    crew: async (bytes) => testCrew(simulateTasks, bytes),
  }
  return { host, written, jpegs, folders }
}

const text = (bytes: Uint8Array | undefined) => JSON.parse(Buffer.from(bytes!).toString('utf8'))

describe('the demonstration outing', () => {
  let outing: DemoOuting
  const kept = keepingHost()
  const { written, jpegs } = kept
  beforeAll(async () => {
    outing = await writeDemoOuting(kept.host, 'night', { scale: 0.03 })
  })

  it('is one stray frame and three brackets, numbered as taken', () => {
    const names = [...written.keys()].filter((p) => p.endsWith('.DNG')).map((p) => p.split('/').at(-1)!)
    expect(names).toEqual(Array.from({ length: 18 }, (_, i) => `DUSK_${String(i + 1).padStart(4, '0')}.DNG`))
    expect(outing.singles).toEqual(['night/originals/DUSK_0001.DNG'])
    expect(outing.brackets.map((b) => b.frames.length)).toEqual([7, 5, 5])
    expect(outingSchema.parse(text(written.get('night/outing.json'))).site.notes).toMatch(/no place on earth/)
  })

  it('every frame states its exposure, time and attitude; times run on without overlap', () => {
    let before = 0
    for (const bracket of outing.brackets) {
      const truth = text(written.get(bracket.truth))
      bracket.frames.forEach((path, i) => {
        const raw = describeRaw(written.get(path)!)
        expect(raw.leftOut).toEqual([])
        expect(raw.exposureSeconds).toBeCloseTo(truth.frames[i].exposureSeconds, 6)
        expect(raw.noise![0]).toEqual({ scale: truth.noise.scale, offset: truth.noise.offset })
        expect(raw.attitude!.gimbalPitch).toBe(truth.made.view.pitchDegrees)
        const start = Date.parse(raw.takenAt.utc!) + raw.takenAt.subSecond * 1000
        expect(start).toBeGreaterThan(before)
        before = start + raw.exposureSeconds! * 1000
      })
    }
  })

  it('the truth names the middle exposure as reference, standing still at ratio 1', () => {
    for (const bracket of outing.brackets) {
      const truth = text(written.get(bracket.truth))
      const times = truth.frames.map((f: { exposureSeconds: number }) => f.exposureSeconds)
      const reference = truth.frames.find((f: { file: string }) => f.file === truth.reference)
      expect(bracket.reference.endsWith(truth.reference)).toBe(true)
      expect(reference).toMatchObject({ ratio: 1, ratioStops: 0, shift: { x: 0, y: 0 }, rotationDegrees: 0 })
      expect(reference.exposureSeconds).toBe([...times].sort((a, b) => a - b)[times.length >> 1])
      // Light falls and shutters err, but no frame is a tenth of a stop from what it states.
      for (const f of truth.frames) expect(Math.abs(f.ratioStops - f.nominalStops)).toBeLessThan(0.1)
    }
  })

  it('the true radiance is nowhere negative and spans six stops even when shrunk to a hundred pixels', () => {
    for (const bracket of outing.brackets) {
      const file = readExr(written.get(bracket.radiance)!)
      expect([file.width, file.height]).toEqual([bracket.width, bracket.height])
      expect(file.channels.map((c) => c.name)).toEqual(['B', 'G', 'R'])
      const green = Float32Array.from(file.channels[1]!.samples, floatFromHalf)
      const low = green.reduce((a, b) => Math.min(a, b))
      const high = green.reduce((a, b) => Math.max(a, b))
      console.log(
        `${bracket.id}: ${low.toExponential(2)} to ${high.toFixed(2)}, ${Math.log2(high / low).toFixed(1)} stops`,
      )
      expect(low).toBeGreaterThan(0)
      expect(Math.log2(high / low)).toBeGreaterThan(6)
    }
  })

  it('companion JPEGs stand beside the second bracket and carry its exposure', () => {
    expect(jpegs.length).toBe(5)
    for (const { pixels, exif } of jpegs) {
      expect(pixels.data.length).toBe(pixels.width * pixels.height * 3)
      expect(exif![0]).toBe(0x49)
    }
  })

  it('is the same, byte for byte, when made again', async () => {
    const again = keepingHost()
    await writeDemoOuting(again.host, 'night', { scale: 0.03 })
    for (const [path, bytes] of written) expect(Buffer.compare(bytes, again.written.get(path)!), path).toBe(0)
  })

  it('drift shrinks with the pictures; turns and exposures do not', () => {
    const [full, small] = [demoShoots(lantern.sensor, 1), demoShoots(lantern.sensor, 0.1)]
    for (const [i, shoot] of full.entries()) {
      for (const [j, frame] of shoot.plan.frames.entries()) {
        const other = small[i]!.plan.frames[j]!
        expect(other.motion.x).toBeCloseTo(frame.motion.x / 10, 2)
        expect(other.motion.rotationDegrees).toBe(frame.motion.rotationDegrees)
        expect(other.ratio).toBe(frame.ratio)
      }
    }
  })
})
