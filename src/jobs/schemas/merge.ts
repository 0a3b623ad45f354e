import { z } from 'zod'
import { leftOutSchema, takenAtSchema } from './parts.ts'
import { printedSchema } from './print.ts'

const mergedFrameSchema = z.object({
  file: z.string(),
  used: z.boolean(),
  reason: z.string().nullable(),
  /** Exposure against the reference as solved from the pixels, and by the tags; positive = more light. */
  ratioStops: z.number().nullable(),
  nominalStops: z.number().nullable(),
  /** How far the content stands from the reference's at the picture's centre, full-resolution pixels, x right, y down. */
  shift: z.object({ x: z.number(), y: z.number() }).nullable(),
  rotationDegrees: z.number().nullable(),
  residualPixels: z.number().nullable(),
})

export const scaleSchema = z.object({
  /** Approximate: ISO 12232's saturation-based speed and the stated exposure. Null when the exposure is not known. */
  candelaPerSquareMetrePerUnit: z.number().nullable(),
})

export const mergedBracketSchema = z.object({
  id: z.string(),
  reference: z.string(),
  frames: z.array(mergedFrameSchema),
  radiance: z.string(),
  variance: z.string(),
  sources: z.string().nullable(),
  preview: z.string(),
  record: z.string(),
  width: z.number().int(),
  height: z.number().int(),
  scale: scaleSchema,
  clippedShare: z.number(),
  /** Null: moving things are not looked for. */
  ghostShare: z.number().nullable(),
  source: z.enum(['raw', 'rendered']),
  seconds: z.number(),
})

export const mergeSchema = z.object({
  schema: z.literal('merge/1'),
  brackets: z.array(mergedBracketSchema),
  /** Prints made in the same go. */
  prints: z.array(printedSchema),
  leftOut: z.array(leftOutSchema),
})

export type MergedFrameEntry = z.infer<typeof mergedFrameSchema>
export type MergedBracket = z.infer<typeof mergedBracketSchema>
export type MergeDocument = z.infer<typeof mergeSchema>

/** Exposure facts of the reference frame, as a print's metadata wants them. */
export const referenceFactsSchema = z.object({
  exposureSeconds: z.number().nullable(),
  fNumber: z.number().nullable(),
  iso: z.number().nullable(),
  focalLengthMillimetres: z.number().nullable(),
  takenAt: takenAtSchema,
  make: z.string().nullable(),
  model: z.string().nullable(),
  artist: z.string().nullable(),
  copyright: z.string().nullable(),
  caption: z.string().nullable(),
})

/** record.json beside a radiance image: what it was made from and how. Nothing in it depends on when or how fast. */
export const radianceRecordSchema = z.object({
  schema: z.literal('record/1'),
  product: z.literal('radiance'),
  madeBy: z.string(),
  bracket: z.string(),
  source: z.enum(['raw', 'rendered']),
  inputs: z.array(z.object({ file: z.string(), bytes: z.number(), sha256: z.string() })),
  settings: z.object({ kernels: z.enum(['simd', 'plain']) }),
  reference: referenceFactsSchema.extend({ file: z.string() }),
  frames: z.array(mergedFrameSchema),
  noise: z.object({
    source: z.enum(['file', 'estimated', 'response', 'assumed']),
    terms: z.array(z.object({ scale: z.number(), offset: z.number() })),
  }),
  colour: z.object({
    neutral: z.array(z.number()).nullable(),
    correlatedColourTemperatureKelvin: z.number().nullable(),
    basis: z.string(),
  }),
  picture: z.object({ width: z.number(), height: z.number(), orientationApplied: z.number(), units: z.string() }),
  scale: scaleSchema,
  clippedShare: z.number(),
  ghostShare: z.number().nullable(),
  leftOut: z.array(leftOutSchema),
})

export type RadianceRecord = z.infer<typeof radianceRecordSchema>
