import { z } from 'zod'
import { leftOutSchema, takenAtSchema } from './parts.ts'

const frameSchema = z.object({
  file: z.string(),
  companion: z.string().nullable(),
  exposureSeconds: z.number().nullable(),
  fNumber: z.number().nullable(),
  iso: z.number().nullable(),
  takenAt: takenAtSchema,
})

const clockSchema = z.object({
  /** Seconds to add to the camera's times to put them right; 0 when it goes right, null when the files do not tell. */
  offsetSeconds: z.number().nullable(),
  basis: z.string(),
  /** How many frames it rests on. */
  frames: z.number().int(),
  zoneMinutes: z.number().nullable(),
  /** Where the clock was set: the first frame after it, and by how much (negative: back). */
  steps: z.array(
    z.object({ before: z.string(), seconds: z.number(), basis: z.enum(['receiver', 'file-numbers', 'quarter-hours']) }),
  ),
})

const correctionSchema = z.object({ by: z.enum(['join', 'split']), frames: z.array(z.string()) })

/** What `group` says: frames into brackets, with the questions that the files leave open. */
export const groupSchema = z.object({
  schema: z.literal('group/1'),
  folder: z.string(),
  frames: z.number().int(),
  brackets: z.array(
    z.object({
      id: z.string(),
      frames: z.array(frameSchema),
      reference: z.string(),
      stepStops: z.number(),
      confidence: z.number().min(0).max(1),
      evidence: z.array(z.string()),
    }),
  ),
  singles: z.array(frameSchema),
  doubts: z.array(
    z.object({
      about: z.enum(['boundary', 'missing-frame', 'iso', 'order', 'no-exposure', 'cut-short']),
      brackets: z.array(z.string()),
      /** The frames that the question names; for a boundary, the first behind it. */
      frames: z.array(z.string()),
      question: z.string(),
      evidence: z.string(),
    }),
  ),
  /** The camera's clock against the satellite receiver's; null when the files tell nothing of it. */
  clock: clockSchema.nullable(),
  /** The camera's picture sizes, the commonest first. */
  modes: z.array(
    z.object({
      source: z.enum(['raw', 'rendered']),
      width: z.number().int(),
      height: z.number().int(),
      megapixels: z.number(),
      frames: z.number().int(),
    }),
  ),
  /** Groups that the photographer settled, and whether the next run will know them. */
  corrections: z.object({ remembered: z.boolean(), groups: z.array(correctionSchema) }),
  leftOut: z.array(leftOutSchema),
})

export type GroupDocument = z.infer<typeof groupSchema>

/** corrections.json in an outing: groups that the photographer settled, by the frames' paths in the outing. */
export const correctionsSchema = z.object({ schema: z.literal('corrections/1'), groups: z.array(correctionSchema) })

export type CorrectionsDocument = z.infer<typeof correctionsSchema>

const attitudeSchema = z.object({
  relativeHeightMetres: z.number().nullable(),
  gimbalPitch: z.number().nullable(),
  gimbalYaw: z.number().nullable(),
  gimbalRoll: z.number().nullable(),
  flightYaw: z.number().nullable(),
  flightPitch: z.number().nullable(),
  flightRoll: z.number().nullable(),
  speedNorth: z.number().nullable(),
  speedEast: z.number().nullable(),
  speedDown: z.number().nullable(),
})

/** frames.json in an outing: one entry a frame; paths are relative to the outing. Positions stay in the originals. */
export const framesSchema = z.object({
  schema: z.literal('frames/1'),
  frames: z.array(
    frameSchema.extend({
      source: z.enum(['raw', 'rendered']),
      width: z.number().int(),
      height: z.number().int(),
      ev100: z.number().nullable(),
      attitude: attitudeSchema.nullable(),
      bracket: z.string().nullable(),
    }),
  ),
  leftOut: z.array(leftOutSchema),
})

export type FramesDocument = z.infer<typeof framesSchema>
