import { readFileSync } from 'node:fs'
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { type Opcode, parseOpcodeList } from '#picture/raw'
import { testCrew } from '../../../test/kernels.ts'
import { applyGainMaps, applyStoredGainMaps, correctLens, shadingTasks, warpSource } from './index.ts'

const truth = JSON.parse(readFileSync(new URL('../../../truth/dng-opcodes/opcodes.json', import.meta.url), 'utf8'))
const bytesOf = (hex: string) => Uint8Array.from(hex.match(/../g)!, (b) => Number.parseInt(b, 16))
const { width, height } = truth.gainMap

const area = { top: 0, left: 0, bottom: 0, right: 0, plane: 0, planes: 1, rowPitch: 1, columnPitch: 1 }
const base = { id: 9, name: 'GainMap', version: 0x01030000, optional: true, skipForPreview: false }
const flatMap = (list: 1 | 2 | 3, gain: number, over: Partial<typeof area> = {}): Opcode => ({
  ...base,
  list,
  content: {
    kind: 'gain-map',
    area: { ...area, ...over },
    ...{ pointsV: 1, pointsH: 1, spacingV: 0, spacingH: 0, originV: 0, originH: 0, mapPlanes: 1 },
    gains: Float32Array.of(gain),
  },
})
const warpOpcode = (planes: number[][], centreX = 0.5, centreY = 0.5): Opcode => ({
  ...base,
  list: 3,
  id: 1,
  name: 'WarpRectilinear',
  content: { kind: 'warp-rectilinear', planes: planes as never, centreX, centreY },
})

for (const kind of ['simd', 'plain'] as const)
  describe(`gain maps (${kind})`, () => {
    const crew = testCrew(shadingTasks, 1 << 22, kind)
    const values = crew.arena.alloc(1 << 16)
    const variance = crew.arena.alloc(1 << 16)
    const set = (count: number, value = 1) => {
      crew.arena.f32(values, count).fill(value)
      crew.arena.f32(variance, count).fill(value)
    }

    it('of the worked list give its gains at pixel centres, on the red sites only, variance squared', async () => {
      const { opcodes } = parseOpcodeList(bytesOf(truth.gainMap.hex), 2)
      set(width * height)
      expect(await applyGainMaps(crew, { mosaic: values, variance, width, height, opcodes })).toEqual([])
      let worst = 0
      for (let y = 0; y < height; y++)
        for (let x = 0; x < width; x++) {
          const expected = truth.gainMap.gainAtPixelCentres[`${y},${x}`] ?? 1
          worst = Math.max(worst, Math.abs(crew.arena.f32(values, width * height)[y * width + x]! - expected))
          worst = Math.max(worst, Math.abs(crew.arena.f32(variance, width * height)[y * width + x]! - expected ** 2))
        }
      console.log(`gain map: worst ${worst.toExponential(1)}`)
      expect(worst).toBeLessThan(1e-6)
    })

    it('one per phase brighten each phase by its own, and leave rows between strides alone', async () => {
      const opcodes = [0, 1, 2, 3].map((phase) =>
        flatMap(2, 2 + phase, { top: phase >> 1, left: phase & 1, bottom: 6, right: 10, rowPitch: 2, columnPitch: 2 }),
      )
      const stride = 12
      set(stride * 6)
      await applyGainMaps(crew, { mosaic: values, variance: 0, width: 10, height: 6, stride, opcodes })
      const found = [...crew.arena.f32(values, stride * 6)]
      const expected = found.map((_, i) => {
        const [x, y] = [i % stride, Math.floor(i / stride)]
        return x < 10 ? 2 + 2 * (y & 1) + (x & 1) : 1
      })
      expect(found).toEqual(expected)
      expect(crew.arena.f32(variance, 1)[0]).toBe(1)
    })

    it('of list 1 work on stored codes, rounded and clipped, and other lists are not touched', async () => {
      const codes = crew.arena.u16(values, 40)
      codes.set(Array.from({ length: 40 }, (_, i) => 1000 * i))
      const opcodes = [flatMap(1, 1.9995), flatMap(2, 5), flatMap(3, 7)]
      expect(await applyStoredGainMaps(crew, { samples: values, width: 8, height: 5, opcodes })).toEqual([])
      const expected = Array.from({ length: 40 }, (_, i) => Math.min(Math.round(1000 * i * 1.9995), 65535))
      expect([...crew.arena.u16(values, 40)].map((v, i) => Math.abs(v - expected[i]!) <= 1)).not.toContain(false)
      expect(crew.arena.u16(values, 40)[39]).toBe(65535)
    })

    it('that reach nothing, and opcodes of other kinds, are reported with a reason', async () => {
      const other: Opcode = { ...base, list: 2, id: 8, name: 'MapPolynomial', content: { kind: 'other', fields: {} } }
      const opcodes = [other, flatMap(2, 2, { top: 50, bottom: 60, right: 8 }), flatMap(2, 2, { plane: 1 })]
      set(48)
      const leftOut = await applyGainMaps(crew, { mosaic: values, variance, width, height, opcodes })
      expect(leftOut.map((l) => [l.what, l.reason])).toEqual([
        ['opcode MapPolynomial', 'opcode-not-applied'],
        ['opcode GainMap', 'area-outside-picture'],
        ['opcode GainMap', 'plane-not-present'],
      ])
      expect([...crew.arena.f32(values, 48)]).toEqual(new Array(48).fill(1))
    })

    it('leave every value finite whatever the map says, and give the memory back', async () => {
      const number = fc.double({ min: -1e6, max: 1e6, noNaN: true })
      const small = fc.integer({ min: 0, max: 20 })
      const mark = crew.arena.mark()
      await fc.assert(
        fc.asyncProperty(
          fc.tuple(small, small, small, small),
          fc.tuple(fc.integer({ min: 1, max: 4 }), fc.integer({ min: 1, max: 4 })),
          fc.tuple(number, number, number, number),
          fc.tuple(fc.integer({ min: 1, max: 9 }), fc.integer({ min: 1, max: 9 })),
          async (
            [top, left, bottom, right],
            [pointsV, pointsH],
            [spacingV, spacingH, originV, originH],
            [rowPitch, columnPitch],
          ) => {
            const gains = Float32Array.from({ length: pointsV * pointsH }, (_, i) => 1 + i)
            const content = {
              kind: 'gain-map' as const,
              area: { ...area, top, left, bottom, right, rowPitch, columnPitch },
              ...{ pointsV, pointsH, spacingV, spacingH, originV, originH, mapPlanes: 1, gains },
            }
            set(13 * 11)
            await applyGainMaps(crew, {
              mosaic: values,
              variance,
              width: 13,
              height: 11,
              opcodes: [{ ...base, list: 2, content }],
            })
            const found = crew.arena.f32(values, 143)
            expect(found.every((v) => v >= 1 && v <= 16)).toBe(true)
            expect(crew.arena.mark()).toBe(mark)
          },
        ),
        { numRuns: 200 },
      )
    })
  })

for (const kind of ['simd', 'plain'] as const)
  describe(`lens corrections (${kind})`, () => {
    const crew = testCrew(shadingTasks, 1 << 24, kind)

    function picture(w: number, h: number, value: (x: number, y: number, plane: number) => number, variances = 0) {
      const plane = (p: number) => {
        const at = crew.arena.alloc(4 * w * h)
        crew.arena.f32(at, w * h).set(Array.from({ length: w * h }, (_, i) => value(i % w, Math.floor(i / w), p)))
        return at
      }
      return {
        planes: [plane(0), plane(1), plane(2)],
        variances: Array.from({ length: variances }, () => plane(3)),
        spare: plane(4),
        width: w,
        height: h,
      }
    }
    const read = (at: number, n: number) => crew.arena.f32(at, n).slice()

    it('apply the worked vignette to all planes, and to variances squared', async () => {
      const mark = crew.arena.mark()
      const { opcodes } = parseOpcodeList(bytesOf(truth.vignetteAndWarp.hex), 3)
      const start = picture(width, height, () => 1, 3)
      const done = await correctLens(crew, { ...start, opcodes: opcodes.filter((o) => o.id === 3) })
      for (const [key, gain] of Object.entries<number>(truth.vignetteAndWarp.vignetteAtPixelCentres)) {
        const [x, y] = key.match(/\d+/g)!.map(Number) as [number, number]
        for (const at of done.planes) expect(read(at, 48)[y * width + x]).toBeCloseTo(gain, 6)
        for (const at of done.variances) expect(read(at, 48)[y * width + x]).toBeCloseTo(gain ** 2, 5)
      }
      expect(done.planes).toEqual(start.planes)
      crew.arena.release(mark)
    })

    it('bend from where the worked list says: by formula to 1e-6 px, by resampling to 0.001 px', async () => {
      const mark = crew.arena.mark()
      const { opcodes } = parseOpcodeList(bytesOf(truth.vignetteAndWarp.hex), 3)
      const warp = opcodes.find((o) => o.id === 1)!
      if (warp.content.kind !== 'warp-rectilinear') throw new Error('not a warp')
      // A picture of its own coordinates: bent, each pixel reads where it came from.
      const done = await correctLens(crew, {
        ...picture(width, height, (x, y, p) => (p === 0 ? x : y)),
        opcodes: [warp],
      })
      for (const [key, source] of Object.entries<[number, number]>(truth.vignetteAndWarp.warpSourceExclusiveBounds)) {
        const [x, y] = key.match(/\d+/g)!.map(Number) as [number, number]
        const found = warpSource(x, y, width, height, warp.content)
        expect(found[0]).toBeCloseTo(source[0], 6)
        expect(found[1]).toBeCloseTo(source[1], 6)
      }
      // The resampled ramp reads its own source position where all six taps lie inside.
      const [sx, sy] = truth.vignetteAndWarp.warpSourceExclusiveBounds['(3, 2)']
      expect(Math.abs(read(done.planes[0]!, 48)[2 * width + 3]! - sx)).toBeLessThan(0.001)
      expect(Math.abs(read(done.planes[1]!, 48)[2 * width + 3]! - sy)).toBeLessThan(0.001)
      crew.arena.release(mark)
    })

    it('there and back leave a smooth picture within 0.2 %, each plane by its own terms', async () => {
      const mark = crew.arena.mark()
      const [w, h] = [240, 180]
      const scene = (x: number, y: number, p: number) =>
        0.5 + 0.2 * Math.sin(0.19 * x + p) + 0.2 * Math.cos(0.17 * y - p)
      // Small bends: the inverse of 1 + k r² is 1 − k r² + 3k² r⁴ − 12 k³ r⁶ (series reversion).
      const bends = [0.004, 0.01, -0.006]
      const there = bends.map((k) => [1, k, 0, 0, 0, 0])
      const back = bends.map((k) => [1, -k, 3 * k * k, -12 * k ** 3, 0, 0])
      const done = await correctLens(crew, { ...picture(w, h, scene), opcodes: [warpOpcode(there), warpOpcode(back)] })
      let worst = 0
      for (const [p, at] of done.planes.entries()) {
        const found = read(at, w * h)
        for (let y = 12; y < h - 12; y++)
          for (let x = 12; x < w - 12; x++) worst = Math.max(worst, Math.abs(found[y * w + x]! - scene(x, y, p)))
      }
      console.log(`${kind} warp there and back: worst ${worst.toExponential(1)} of 1`)
      expect(worst).toBeLessThan(0.002)
      crew.arena.release(mark)
    })

    it('move each plane into the spare one and say where it went; terms that bend nothing leave a plane alone', async () => {
      const mark = crew.arena.mark()
      const start = picture(30, 20, (x, y, p) => x + y * p, 3)
      const same = [1, 0, 0, 0, 0, 0]
      const none = await correctLens(crew, { ...start, opcodes: [warpOpcode([same])] })
      expect([none.planes, none.variances, none.spare]).toEqual([start.planes, start.variances, start.spare])
      const before = read(start.planes[1]!, 600)
      const some = await correctLens(crew, {
        ...start,
        opcodes: [warpOpcode([[1.01, 0, 0, 0, 0, 0], same, [0.99, 0, 0, 0, 0, 0]])],
      })
      const all = [...some.planes, ...some.variances, some.spare]
      expect(new Set(all)).toEqual(new Set([...start.planes, ...start.variances, start.spare]))
      expect(some.planes[1]).toBe(start.planes[1])
      expect(read(some.planes[1]!, 600)).toEqual(before)
      crew.arena.release(mark)
    })

    it('run in list order, apply gain maps to the planes they name, and report the rest', async () => {
      const mark = crew.arena.mark()
      const fisheye: Opcode = { ...base, list: 3, id: 2, name: 'WarpFisheye', content: { kind: 'other', fields: {} } }
      const opcodes = [flatMap(3, 2, { plane: 1, planes: 5 }), fisheye, flatMap(3, 3, { plane: 7 }), flatMap(2, 9)]
      const done = await correctLens(crew, { ...picture(9, 7, () => 1), opcodes })
      expect(done.planes.map((at) => read(at, 63)[40])).toEqual([1, 2, 2])
      expect(done.leftOut.map((l) => l.reason)).toEqual(['opcode-not-applied', 'plane-not-present'])
      crew.arena.release(mark)
    })
  })
