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
  doubts: z.array(z.object({ brackets: z.array(z.string()), question: z.string(), evidence: z.string() })),
  leftOut: z.array(leftOutSchema),
})

export type GroupDocument = z.infer<typeof groupSchema>

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
