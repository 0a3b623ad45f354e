import { z } from 'zod'
import { leftOutSchema, takenAtSchema } from './parts.ts'

export const printFormats = ['jpeg', 'hdr-jpeg', 'avif', 'tiff', 'png', 'exr', 'dng'] as const
export type PrintFormat = (typeof printFormats)[number]

/** The names of what a print may say of itself; what is not named here is never written. */
export const keepGroupNames = ['author', 'copyright', 'caption', 'exposure', 'time', 'camera'] as const

/** The file of a print: everything about it that is not its look. */
export const fileSettingsSchema = z.object({
  format: z.enum(printFormats),
  /** 1 … 100, of the lossy formats; null where the format loses nothing. */
  quality: z.number().int().min(1).max(100).nullable(),
  /** The longer side is at most this, pixels; null keeps the size. A print is never enlarged. */
  longSidePixels: z.number().int().min(16).max(65_535).nullable(),
  /** The file name without its ending; words in braces are filled in. */
  name: z.string(),
  keep: z.array(z.enum(keepGroupNames)),
  /** Whether a DNG names our own camera or the one that took the frames. */
  dngCamera: z.enum(['own', 'taken']),
})
export type FileSettings = z.infer<typeof fileSettingsSchema>

/** The written file held against what was meant, by a reader that did not write it. */
export const printProofSchema = z.object({
  reader: z.string(),
  ok: z.boolean(),
  pixels: z.object({
    reader: z.string(),
    /** exact: samples that differ; decibels: peak signal to noise; percent: the worst of 99 % of the samples. */
    measure: z.enum(['exact', 'decibels', 'percent']),
    value: z.number(),
    limit: z.number(),
    ok: z.boolean(),
  }),
  metadata: z.object({
    reader: z.string(),
    found: z.array(z.string()),
    /** Found and not meant to be there. */
    unexpected: z.array(z.string()),
    ok: z.boolean(),
  }),
})
export type PrintProof = z.infer<typeof printProofSchema>

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
  proof: printProofSchema,
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
  schema: z.literal('print-record/2'),
  print: z.object({ file: z.string(), sha256: z.string(), width: z.number().int(), height: z.number().int() }),
  from: z.object({
    file: z.string(),
    sha256: z.string().nullable(),
    width: z.number().int(),
    height: z.number().int(),
  }),
  program: z.object({ version: z.string(), kernels: z.enum(['simd', 'plain']) }),
  /** With these, the same radiance image gives the same bytes. */
  settings: z.object({ look: printSettingsSchema, file: fileSettingsSchema }),
  /** Numbers that the format brings along: gains of a gain map, the white of a linear DNG. */
  figures: z.record(z.string(), z.number()),
  /** Stops of the scene's cells by share of area, and its noise; log2 of radiance. */
  scene: z.record(z.string(), z.number()),
  candelaPerSquareMetrePerUnit: nullableNumber,
  removed: z.array(z.string()),
  kept: z.array(z.string()),
  proof: printProofSchema,
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
  artist: z.string().nullish().catch(null),
  copyright: z.string().nullish().catch(null),
  caption: z.string().nullish().catch(null),
})

export type ReferenceFacts = z.infer<typeof referenceSchema>

export const bracketFactsSchema = z.object({
  reference: referenceSchema.nullable().catch(null),
  scale: z.object({ candelaPerSquareMetrePerUnit: nullableNumber }).nullable().catch(null),
})
