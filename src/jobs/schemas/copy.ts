import { z } from 'zod'
import { factsSchema, leftOutSchema } from './parts.ts'

const failedSchema = z.object({
  /** Below the card, with forward slashes. */
  file: z.string(),
  reason: z.string(),
  /** The folder that it could not be copied to; null when the card's own file is the matter. */
  target: z.string().nullable(),
  sentence: z.string(),
  facts: factsSchema,
})

/** What `copy` says. Counts are files. A file counts once, whatever the number of targets. */
export const copySchema = z.object({
  schema: z.literal('copy/1'),
  card: z.string(),
  /** Files on the card that are no leavings of an operating system. */
  files: z.number().int(),
  /** Written to at least one target in this run, and now on all. */
  copied: z.number().int(),
  /** On all targets already, seen by content. */
  recognised: z.number().int(),
  failed: z.array(failedSchema),
  /** Of all files that are on every target now. */
  bytes: z.number(),
  /** Read from the card and written, in this run. */
  bytesCopied: z.number(),
  seconds: z.number(),
  safeToWipe: z.boolean(),
  targets: z.array(
    z.object({
      /** Where the files lie. */
      path: z.string(),
      /** Files of the card that were read back there with the card's sum. */
      verified: z.number().int(),
      /** Copied under another path than the card's, because that was taken. */
      renamed: z.array(z.object({ file: z.string(), copy: z.string() })),
      /** Whether reading back went to the disk itself, or may have been answered from the system's memory. */
      readBack: z.enum(['disk', 'system']),
      onCardsDisk: z.boolean(),
      checksums: z.string(),
      manifest: z.string(),
    }),
  ),
  leftOut: z.array(leftOutSchema),
})

export type CopyDocument = z.infer<typeof copySchema>

/** copy.json in an outing: every file that was copied there, and how the last run went. Paths use forward slashes. */
export const copyManifestSchema = z.object({
  schema: z.literal('copy-manifest/1'),
  version: z.string(),
  card: z.string(),
  safeToWipe: z.boolean(),
  files: z.array(
    z.object({
      /** Below the card. */
      file: z.string(),
      /** Below the outing; null when it is not there. */
      copy: z.string().nullable(),
      bytes: z.number(),
      sha256: z.string().nullable(),
      outcome: z.enum(['copied', 'recognised', 'failed']),
      reason: z.string().nullable(),
    }),
  ),
  /** Copies that earlier runs made of files that are not on this card. */
  earlier: z.array(z.object({ copy: z.string(), sha256: z.string() })),
  skipped: z.array(leftOutSchema),
})

export type CopyManifest = z.infer<typeof copyManifestSchema>
