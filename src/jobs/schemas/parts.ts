import { z } from 'zod'

/** Parts that several documents share. Names and units here are a promise: scripts rely on them. */
export const factsSchema = z.record(
  z.string(),
  z.union([z.string(), z.number(), z.boolean(), z.null(), z.array(z.union([z.string(), z.number()])).readonly()]),
)

export const leftOutSchema = z.object({ what: z.string(), reason: z.string(), facts: factsSchema })

export const takenAtSchema = z.object({
  utc: z.string().nullable(),
  camera: z.string().nullable(),
  offsetMinutes: z.number().nullable(),
  subSecond: z.number(),
})
