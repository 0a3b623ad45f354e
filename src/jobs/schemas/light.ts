import { z } from 'zod'
import { leftOutSchema } from './parts.ts'
import { latitudeSchema, longitudeSchema } from './site.ts'

export const placeSchema = z.object({ latitude: latitudeSchema, longitude: longitudeSchema, timeZone: z.string() })

export const eventSchema = z.object({
  name: z.string(),
  utc: z.string().nullable(),
  local: z.string().nullable(),
  /** Why it does not happen in these 24 hours; null when it does. */
  never: z.string().nullable(),
  sunAltitude: z.number().nullable(),
})

export const minuteSchema = z.object({
  utc: z.string(),
  local: z.string(),
  sunAltitude: z.number(),
  sunAzimuth: z.number(),
  moonAltitude: z.number(),
  moonAzimuth: z.number(),
  moonFraction: z.number(),
  lux: z.number(),
  luxLow: z.number(),
  luxHigh: z.number(),
  ev100: z.number(),
  skyEv100: z.number(),
})

export const balanceSchema = z.object({
  subject: z.string(),
  words: z.string(),
  subjectEv100: z.number(),
  utc: z.string().nullable(),
  local: z.string().nullable(),
  never: z.string().nullable(),
  sunAltitude: z.number().nullable(),
  /** How fast the sky falls then. */
  minutesPerStop: z.number().nullable(),
})

/** What `light` says: one evening at one place. First crossings at or after local noon of the date, within 24 hours. */
export const lightSchema = z.object({
  schema: z.literal('light/1'),
  place: placeSchema,
  date: z.string(),
  events: z.array(eventSchema),
  minutes: z.array(minuteSchema),
  balance: z.array(balanceSchema),
  moon: z.object({ phase: z.string(), fraction: z.number() }),
  /** When the ground falls below the light that obstacle sensors need. */
  sensing: z.object({
    lux: z.number(),
    utc: z.string().nullable(),
    local: z.string().nullable(),
    never: z.string().nullable(),
  }),
  /** Which model, its validity and spread, in words. */
  basis: z.array(z.string()),
  leftOut: z.array(leftOutSchema),
})
export type LightDocument = z.infer<typeof lightSchema>
