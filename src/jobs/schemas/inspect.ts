import { z } from 'zod'
import { leftOutSchema, takenAtSchema } from './parts.ts'

const number = z.number().nullable()

export const refusalSchema = z.object({
  kind: z.enum(['malformed', 'unsupported', 'limit', 'io', 'usage', 'aborted']),
  code: z.string(),
  sentence: z.string(),
})

const attitudeSchema = z.object({
  relativeHeightMetres: number,
  gimbalPitch: number,
  gimbalYaw: number,
  gimbalRoll: number,
  flightYaw: number,
  flightPitch: number,
  flightRoll: number,
  speedNorth: number,
  speedEast: number,
  speedDown: number,
})

/** One file as `inspect` sees it. A fact that the file lacks, or all facts of a refused file, are null. */
export const inspectedFileSchema = z.object({
  file: z.string(),
  /** By the file's own first bytes, not its name. */
  kind: z.enum(['dng', 'jpeg', 'tiff', 'unknown']),
  readable: z.boolean(),
  refusal: refusalSchema.nullable(),
  width: number,
  height: number,
  samples: z.enum(['cfa', 'linear', 'rendered']).nullable(),
  cfa: z.string().nullable(),
  bitsPerSample: number,
  compression: z.enum(['none', 'lossless-jpeg', 'deflate', 'jpeg']).nullable(),
  /** The repeating pattern in row-column-sample order; white: one per sample of a pixel. */
  black: z.array(z.number()).nullable(),
  white: z.array(z.number()).nullable(),
  /** Top, left, bottom, right; bottom and right exclusive. */
  activeArea: z.array(z.number()).length(4).nullable(),
  /** x, y, width, height, counted from the active area's top-left. */
  crop: z.array(z.number()).length(4).nullable(),
  orientation: number,
  exposureSeconds: number,
  fNumber: number,
  iso: number,
  ev100: number,
  takenAt: takenAtSchema.nullable(),
  focalLengthMillimetres: number,
  noise: z.array(z.object({ scale: z.number(), offset: z.number() })).nullable(),
  neutral: z.array(z.number()).nullable(),
  baselineExposureStops: number,
  opcodes: z.array(z.object({ list: z.number(), id: z.number(), name: z.string(), optional: z.boolean() })),
  attitude: attitudeSchema.nullable(),
  position: z.object({ latitude: z.number(), longitude: z.number(), altitudeMetres: number }).nullable(),
  /** MD5 of all samples as 16-bit little-endian, after the linearisation table and before black; null for JPEG. */
  pixelsMd5: z.string().nullable(),
})

/** What `inspect` prints. */
export const inspectSchema = z.object({
  schema: z.literal('inspect/1'),
  files: z.array(inspectedFileSchema),
  leftOut: z.array(leftOutSchema),
})

export type InspectedFile = z.infer<typeof inspectedFileSchema>
export type InspectDocument = z.infer<typeof inspectSchema>
