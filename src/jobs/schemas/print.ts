import { z } from 'zod'
import { leftOutSchema, takenAtSchema } from './parts.ts'

export const printFormats = ['jpeg', 'tiff16'] as const

export const printedSchema = z.object({
  file: z.string(),
  /** The radiance image it was made from. */
  from: z.string(),
  record: z.string(),
  width: z.number().int(),
  height: z.number().int(),
  format: z.enum(printFormats),
  profile: z.string(),
  bytes: z.number().int(),
  /** Kinds of metadata that are never written. */
  removed: z.array(z.string()),
  /** Metadata that is in the file. */
  kept: z.array(z.string()),
  /** The written file read again by another decoder: size, format, profile, and no position. */
  proof: z.object({ reader: z.string(), ok: z.boolean() }),
})

export type Printed = z.infer<typeof printedSchema>

/** What `print` says. */
export const printSchema = z.object({
  schema: z.literal('print/1'),
  prints: z.array(printedSchema),
  leftOut: z.array(leftOutSchema),
})

export type PrintDocument = z.infer<typeof printSchema>

const nullableNumber = z.number().nullable()

/** The look, as plain numbers: the same numbers on the same radiance image give the same bytes. */
export const printSettingsSchema = z.object({
  anchorStops: z.number(),
  baseCompression: z.number(),
  rungs: z.array(z.object({ sceneStops: z.number(), zone: z.number() })),
  lampWhite: z.object({ fromZone: z.number(), most: z.number() }),
  chromaNoise: z.object({ scale: z.number(), offset: z.number() }),
})

export type PrintSettings = z.infer<typeof printSettingsSchema>

/** The record beside each print. */
export const printRecordSchema = z.object({
  schema: z.literal('print-record/1'),
  print: z.object({ file: z.string(), sha256: z.string(), format: z.enum(printFormats), quality: nullableNumber }),
  from: z.object({
    file: z.string(),
    sha256: z.string().nullable(),
    width: z.number().int(),
    height: z.number().int(),
  }),
  program: z.object({ version: z.string(), kernels: z.enum(['simd', 'plain']) }),
  settings: printSettingsSchema,
  /** Stops of the scene's cells by share of area, and its noise; log2 of radiance. */
  scene: z.record(z.string(), z.number()),
  candelaPerSquareMetrePerUnit: nullableNumber,
  removed: z.array(z.string()),
  kept: z.array(z.string()),
})

export type PrintRecord = z.infer<typeof printRecordSchema>

/** The facts of a merged bracket's record that a print uses; whatever is absent or of another shape counts as unknown. */
export const referenceSchema = z.object({
  exposureSeconds: nullableNumber.catch(null),
  fNumber: nullableNumber.catch(null),
  iso: nullableNumber.catch(null),
  focalLengthMillimetres: nullableNumber.catch(null),
  takenAt: takenAtSchema.nullable().catch(null),
  make: z.string().nullable().catch(null),
  model: z.string().nullable().catch(null),
})

export type ReferenceFacts = z.infer<typeof referenceSchema>

export const bracketFactsSchema = z.object({
  reference: referenceSchema.nullable().catch(null),
  scale: z.object({ candelaPerSquareMetrePerUnit: nullableNumber }).nullable().catch(null),
})
