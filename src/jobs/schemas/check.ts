import { z } from 'zod'
import { leftOutSchema } from './parts.ts'

const share = z.number().min(0).max(1)

export const checkedFrameSchema = z.object({
  file: z.string(),
  /** The line that motion draws, pixels at full size; direction 0 to the right, clockwise as seen upright, below 180. */
  smear: z.object({ pixels: z.number(), directionDegrees: z.number().nullable(), confidence: z.number() }).nullable(),
  /** Standard deviation of a point's round part, pixels: lens and focus. */
  focus: z.object({ blurPixels: z.number() }).nullable(),
  clipped: z.object({ r: share, g: share, b: share }),
  /** Read noise, null where too little is dark, and codes an electron; green. */
  noise: z.object({ readElectrons: z.number().nullable(), gain: z.number() }).nullable(),
  tiltDegrees: z.number().nullable(),
  flags: z.array(z.string()),
  /** What this frame holds of the scene, stops: from its noise to its saturation; 0 is the reference's saturation. */
  span: z.object({ lowStops: z.number(), highStops: z.number() }).nullable(),
  /** A small picture of it, for the report; null where none could be made. */
  thumbnail: z.string().nullable(),
})

export const verdictSchema = z.enum(['keep', 'doubtful', 're-fly'])

/** What `check` says: every frame measured, every bracket judged. */
export const checkSchema = z.object({
  schema: z.literal('check/1'),
  outing: z.string(),
  frames: z.array(checkedFrameSchema),
  brackets: z.array(
    z.object({
      id: z.string(),
      frames: z.array(z.string()),
      verdict: verdictSchema,
      reasons: z.array(
        z.object({ rule: z.string(), value: z.number().nullable(), limit: z.number(), words: z.string() }),
      ),
      best: z.string(),
      advice: z.array(z.string()),
      /** The scene's own range, stops: 0 is the reference's saturation. */
      scene: z.object({ lowStops: z.number(), highStops: z.number() }).nullable(),
    }),
  ),
  doubts: z.array(z.object({ brackets: z.array(z.string()), question: z.string(), evidence: z.string() })),
  report: z.string().nullable(),
  seconds: z.number(),
  leftOut: z.array(leftOutSchema),
})

export type CheckDocument = z.infer<typeof checkSchema>
export type CheckedFrame = z.infer<typeof checkedFrameSchema>
