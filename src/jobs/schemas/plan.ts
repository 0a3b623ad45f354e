import { z } from 'zod'
import { balanceSchema, eventSchema, placeSchema } from './light.ts'
import { leftOutSchema } from './parts.ts'
import { positionSchema } from './site.ts'

/** Something to know about a number: a stable code, and the same in words. */
const remarkSchema = z.object({ code: z.string(), words: z.string() })

export const settingsSchema = z.object({
  fNumber: z.number(),
  iso: z.number(),
  shutterSeconds: z.number(),
  ev100: z.number(),
})

export const planBracketSchema = z.object({
  frames: z.number().int(),
  stepStops: z.number(),
  /** In the order to take them; of two offset brackets, one after the other. */
  shuttersSeconds: z.array(z.number()),
  /** How many brackets the frames are taken in. */
  brackets: z.number().int(),
  totalSeconds: z.number(),
})

const pictureSchema = z.object({
  settings: settingsSchema,
  bracket: planBracketSchema,
  hoverLimitSeconds: z.number(),
  /** Of the middle of the scene, merged, and in the middle frame alone. */
  predictedSnr: z.number(),
  predictedSnrSingle: z.number(),
  keepOdds: z.number(),
  keepBasis: z.enum(['default', 'learnt']),
  /** Null where no number of repeats would do. */
  repeats: z.number().int().nullable(),
  skyEv100: z.number(),
  groundEv100: z.number(),
  cardBytes: z.number(),
  remarks: z.array(remarkSchema),
})

export const planViewpointSchema = pictureSchema.extend({
  name: z.string(),
  set: z.enum(['dusk', 'dark']),
  arriveUtc: z.string(),
  arriveLocal: z.string(),
  leaveByUtc: z.string().nullable(),
  leaveByLocal: z.string().nullable(),
  /** Why there is no time to leave by, where there is none. */
  never: z.string().nullable(),
  minutes: z.number(),
  battery: z.number().int(),
  /** Hover minutes that the battery has left there, the way home and the reserve taken off. */
  batteryMinutes: z.number(),
  leaveWithPercent: z.number().nullable(),
  heightMetres: z.number(),
  headingDegrees: z.number(),
  tiltDegrees: z.number(),
  subject: z.string(),
  subjectEv100: z.number(),
  balanceLocal: z.string().nullable(),
  framing: z.object({
    fieldDegrees: z.object({ horizontal: z.number(), vertical: z.number() }),
    subjectMetres: z.number().nullable(),
    pixelsPerMetre: z.number().nullable(),
    widthMetres: z.number().nullable(),
    sun: z.string(),
    moon: z.string(),
    /** Corners of what it sees of level ground, metres east and north of home; null above the horizon. */
    footprint: z.array(z.object({ eastMetres: z.number(), northMetres: z.number() }).nullable()),
  }),
  eastMetres: z.number(),
  northMetres: z.number(),
  wayHome: z.object({
    metres: z.number(),
    seconds: z.number().nullable(),
    obstacles: z.array(
      z.object({
        name: z.string(),
        /** From home; null where its place is not known. */ alongMetres: z.number().nullable(),
        heightMetres: z.number(),
        clearMetres: z.number(),
      }),
    ),
  }),
  /** The same picture ten minutes later; null when there is no light left to ask about. */
  tenMinutesLate: z
    .object({ settings: settingsSchema, stopsDarker: z.number(), remarks: z.array(remarkSchema) })
    .nullable(),
})

/** What `plan` says: settings, flight and card of one evening. */
export const planSchema = z.object({
  schema: z.literal('plan/1'),
  outing: z.string(),
  title: z.string(),
  date: z.string(),
  place: placeSchema,
  siteName: z.string(),
  home: positionSchema,
  events: z.array(eventSchema),
  balance: z.array(balanceSchema),
  strip: z.array(
    z.object({ utc: z.string(), local: z.string(), skyEv100: z.number(), groundEv100: z.number(), lux: z.number() }),
  ),
  upByLocal: z.string().nullable(),
  homeByLocal: z.string().nullable(),
  sensing: z.object({
    lux: z.number(),
    utc: z.string().nullable(),
    local: z.string().nullable(),
    never: z.string().nullable(),
  }),
  moon: z.object({ phase: z.string(), fraction: z.number() }),
  hoverLimitEv100: z.number().nullable(),
  viewpoints: z.array(planViewpointSchema),
  returnHeightMetres: z.number().nullable(),
  returnReason: z.string().nullable(),
  ceilingMetres: z.number(),
  clearanceMetres: z.number(),
  windAloftMetresPerSecond: z.number(),
  batteries: z.number().int(),
  reservePercent: z.number(),
  cardBytes: z.number(),
  cautions: z.array(z.string()),
  rules: z.array(z.object({ where: z.string(), what: z.string(), source: z.string(), asOf: z.string() })),
  basis: z.array(z.string()),
  card: z.string(),
  leftOut: z.array(leftOutSchema),
})
export type PlanDocument = z.infer<typeof planSchema>
export type PlanViewpoint = z.infer<typeof planViewpointSchema>
