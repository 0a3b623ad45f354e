import { z } from 'zod'
import { leftOutSchema } from './parts.ts'

/** One demonstration bracket: what the job found against the truth it was made from. Null = not measured. */
const demoBracketSchema = z.object({
  id: z.string(),
  /** What the made scene shows, in a few words. */
  scene: z.string(),
  frames: z.number().int(),
  width: z.number().int(),
  height: z.number().int(),
  /** RMS over the frames used of found minus true shift, in full-resolution pixels. */
  shiftErrorPixelsRms: z.number().nullable(),
  /** Largest error of rotation over the frames used, degrees. */
  rotationErrorDegrees: z.number().nullable(),
  /** Merged radiance against the true one over pixels clipped in no plane: slope 1 and intercept 0 are right. */
  radianceSlope: z.number().nullable(),
  radianceIntercept: z.number().nullable(),
  /** Noise of the merged picture over the least that the frames allow (inverse-variance bound); 1 is the bound. */
  noiseOverBound: z.number().nullable(),
  preview: z.string().nullable(),
  print: z.string().nullable(),
  seconds: z.number(),
  leftOut: z.array(leftOutSchema),
})

/** What `demo` prints. Paths are as the outing was named on the command line. */
export const demoSchema = z.object({
  schema: z.literal('demo/1'),
  outing: z.string(),
  truth: z.string(),
  report: z.string(),
  /** The evening's field card, one page for the phone or for paper. */
  card: z.string(),
  /** The frames judged, with small pictures. */
  contact: z.string().nullable(),
  pictures: z.array(z.string()),
  seconds: z.number(),
  brackets: z.array(demoBracketSchema),
  leftOut: z.array(leftOutSchema),
})

export type DemoDocument = z.infer<typeof demoSchema>
export type DemoBracket = z.infer<typeof demoBracketSchema>
