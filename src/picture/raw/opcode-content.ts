import { malformed } from '#core/base'
import type { ByteWindow } from '#core/formats'
import type { Opcode, OpcodeArea } from './types.ts'

/**
 * Parameters of the opcodes of DNG 1.6 chapter 7. The data must have exactly the length that its own counts imply:
 * anything else is a list that was cut or shifted.
 */
export type OpcodeContent = Opcode['content']

const NAMES = [
  'WarpRectilinear',
  'WarpFisheye',
  'FixVignetteRadial',
  'FixBadPixelsConstant',
  'FixBadPixelsList',
  'TrimBounds',
  'MapTable',
  'MapPolynomial',
  'GainMap',
  'DeltaPerRow',
  'DeltaPerColumn',
  'ScalePerRow',
  'ScalePerColumn',
  'WarpRectilinear2',
] as const

/** The standard's name of an opcode, null for a number it does not define. */
export const opcodeName = (id: number): string | null => NAMES[id - 1] ?? null

const AREA_BYTES = 32

function expectBytes(data: ByteWindow, bytes: number): void {
  if (data.fileBytes !== bytes) throw malformed('opcode-data', { expectedBytes: bytes, foundBytes: data.fileBytes })
}

function longs(data: ByteWindow, at: number, count: number): number[] {
  data.check(at, 4 * count)
  return Array.from({ length: count }, (_, i) => data.u32(at + 4 * i))
}

function doubles(data: ByteWindow, at: number, count: number): number[] {
  data.check(at, 8 * count)
  return Array.from({ length: count }, (_, i) => finite(data.f64(at + 8 * i)))
}

function floats(data: ByteWindow, at: number, count: number): number[] {
  data.check(at, 4 * count)
  return Array.from({ length: count }, (_, i) => finite(data.f32(at + 4 * i)))
}

function finite(value: number): number {
  if (!Number.isFinite(value)) throw malformed('opcode-data', { found: String(value) })
  return value
}

function area(data: ByteWindow): OpcodeArea {
  const [top, left, bottom, right, plane, planes, rowPitch, columnPitch] = longs(data, 0, 8) as [
    number,
    number,
    number,
    number,
    number,
    number,
    number,
    number,
  ]
  if (rowPitch === 0 || columnPitch === 0 || planes === 0) {
    throw malformed('opcode-data', { rowPitch, columnPitch, planes })
  }
  return { top, left, bottom, right, plane, planes, rowPitch, columnPitch }
}

const areaFields = (a: OpcodeArea) => ({ ...a })

/** Warps of 1, 2 and 14 start with their number of planes, each with the same number of terms. */
function warpPlanes(data: ByteWindow, terms: number, extraBytes: number): number[][] {
  const planes = data.u32(0)
  if (planes === 0) throw malformed('opcode-data', { planes })
  expectBytes(data, 4 + 8 * terms * planes + 16 + extraBytes)
  return Array.from({ length: planes }, (_, p) => doubles(data, 4 + 8 * terms * p, terms))
}

function warpRectilinear(data: ByteWindow): OpcodeContent {
  const planes = warpPlanes(data, 6, 0) as unknown as (readonly [number, number, number, number, number, number])[]
  const [centreX, centreY] = doubles(data, data.fileBytes - 16, 2) as [number, number]
  return { kind: 'warp-rectilinear', planes, centreX, centreY }
}

function otherWarp(data: ByteWindow, terms: number, extraBytes: number): OpcodeContent {
  const planes = warpPlanes(data, terms, extraBytes)
  const [centreX, centreY] = doubles(data, data.fileBytes - 16 - extraBytes, 2) as [number, number]
  const fields = { planes: planes.length, terms: planes.flat(), centreX, centreY }
  return {
    kind: 'other',
    fields: extraBytes === 0 ? fields : { ...fields, reciprocalRadial: data.u32(data.fileBytes - 4) },
  }
}

function vignetteRadial(data: ByteWindow): OpcodeContent {
  expectBytes(data, 56)
  const [k0, k1, k2, k3, k4, centreX, centreY] = doubles(data, 0, 7) as [
    number,
    number,
    number,
    number,
    number,
    number,
    number,
  ]
  return { kind: 'vignette-radial', terms: [k0, k1, k2, k3, k4], centreX, centreY }
}

function badPixelsList(data: ByteWindow): OpcodeContent {
  const [bayerPhase, points, rectangles] = longs(data, 0, 3) as [number, number, number]
  expectBytes(data, 12 + 8 * points + 16 * rectangles)
  const fields = {
    bayerPhase,
    /** row, column, row, column, … */
    points: longs(data, 12, 2 * points),
    /** top, left, bottom, right, … */
    rectangles: longs(data, 12 + 8 * points, 4 * rectangles),
  }
  return { kind: 'other', fields }
}

function mapTable(data: ByteWindow): OpcodeContent {
  const count = data.u32(AREA_BYTES)
  if (count === 0 || count > 65536) throw malformed('opcode-data', { entries: count })
  expectBytes(data, 36 + 2 * count)
  const table = Array.from({ length: count }, (_, i) => data.u16(36 + 2 * i))
  return { kind: 'other', fields: { ...areaFields(area(data)), table } }
}

function mapPolynomial(data: ByteWindow): OpcodeContent {
  const degree = data.u32(AREA_BYTES)
  if (degree > 8) throw malformed('opcode-data', { degree })
  expectBytes(data, 36 + 8 * (degree + 1))
  return { kind: 'other', fields: { ...areaFields(area(data)), coefficients: doubles(data, 36, degree + 1) } }
}

function gainMap(data: ByteWindow): OpcodeContent {
  const [pointsV, pointsH] = longs(data, AREA_BYTES, 2) as [number, number]
  const [spacingV, spacingH, originV, originH] = doubles(data, AREA_BYTES + 8, 4) as [number, number, number, number]
  const mapPlanes = data.u32(72)
  if (pointsV === 0 || pointsH === 0 || mapPlanes === 0) {
    throw malformed('opcode-data', { pointsV, pointsH, mapPlanes })
  }
  // Spacing means nothing along an axis of one point; elsewhere positions are divided by it.
  if ((pointsV > 1 && !(spacingV > 0)) || (pointsH > 1 && !(spacingH > 0))) {
    throw malformed('opcode-data', { spacingV, spacingH })
  }
  const count = pointsV * pointsH * mapPlanes
  expectBytes(data, 76 + 4 * count)
  const gains = new Float32Array(count)
  for (let i = 0; i < count; i++) gains[i] = finite(data.f32(76 + 4 * i))
  if (gains.some((g) => g < 0)) throw malformed('opcode-data', { found: 'negative gain' })
  return {
    kind: 'gain-map',
    area: area(data),
    pointsV,
    pointsH,
    spacingV,
    spacingH,
    originV,
    originH,
    mapPlanes,
    gains,
  }
}

function perLine(data: ByteWindow): OpcodeContent {
  const count = data.u32(AREA_BYTES)
  expectBytes(data, 36 + 4 * count)
  return { kind: 'other', fields: { ...areaFields(area(data)), values: floats(data, 36, count) } }
}

function fixedLongs(data: ByteWindow, names: readonly string[]): OpcodeContent {
  expectBytes(data, 4 * names.length)
  return { kind: 'other', fields: Object.fromEntries(names.map((name, i) => [name, data.u32(4 * i)])) }
}

/** The parameters of opcode `id` (1–14) in `data`, big-endian. @throws malformed "opcode-data", "outside-file" */
export function opcodeContent(id: number, data: ByteWindow): OpcodeContent {
  switch (id) {
    case 1:
      return warpRectilinear(data)
    case 2:
      return otherWarp(data, 4, 0)
    case 3:
      return vignetteRadial(data)
    case 4:
      return fixedLongs(data, ['constant', 'bayerPhase'])
    case 5:
      return badPixelsList(data)
    case 6:
      return fixedLongs(data, ['top', 'left', 'bottom', 'right'])
    case 7:
      return mapTable(data)
    case 8:
      return mapPolynomial(data)
    case 9:
      return gainMap(data)
    case 14:
      return otherWarp(data, 19, 4)
    default:
      return perLine(data)
  }
}
