import { z } from 'zod'

export const latitudeSchema = z.number().min(-90).max(90)
export const longitudeSchema = z.number().min(-180).max(180)

export const positionSchema = z.object({ latitude: latitudeSchema, longitude: longitudeSchema })

const terrains = ['water', 'open', 'suburb', 'city'] as const

/** Something that stands in the way. Heights are above the take-off point, not above the sea. */
export const obstacleSchema = z.object({
  /** Null where nobody knows its place: then it stands in every way. */
  latitude: latitudeSchema.nullable().default(null),
  longitude: longitudeSchema.nullable().default(null),
  name: z.string().min(1).max(80),
  heightMetres: z.number().min(0).max(1000),
  /** How far it reaches around its position. */
  radiusMetres: z.number().min(0).max(500).default(5),
  /** Plus or minus, for heights estimated from a photograph. */
  heightErrorMetres: z.number().min(0).max(100).default(0),
  source: z.string().max(200).default('stated by hand'),
})

/** A place: what stays the same from one evening to the next. */
const siteShape = {
  name: z.string().min(1).max(80),
  latitude: latitudeSchema.nullable(),
  longitude: longitudeSchema.nullable(),
  /** IANA name; null takes the zone of the coordinates. */
  timeZone: z.string().nullable().default(null),
  /** Where the aircraft returns to; null is the site's own position. */
  home: positionSchema
    .extend({ accuracyMetres: z.number().min(0).max(100).default(5) })
    .nullable()
    .default(null),
  /** What the wind passes over, for its growth with height. */
  terrain: z.enum(terrains).default('open'),
  /** The height that must not be passed there. The usual limit is the default; local rules may set another. */
  ceilingMetres: z.number().min(1).max(1000).default(120),
  /** Mains frequency of the lamps, which decides which shutters show their flicker. */
  mainsHertz: z
    .union([z.literal(50), z.literal(60)])
    .nullable()
    .default(null),
  /** Brightness of the night sky at the zenith without a moon, magnitudes in a square arcsecond; null is a dark sky. */
  skyglowMagnitudes: z.number().min(14).max(22.5).nullable().default(null),
  /** Mean level of the lit subjects learnt here; null takes the published table. */
  lampEv100: z.number().min(-10).max(20).nullable().default(null),
  obstacles: z.array(obstacleSchema).max(500).default([]),
  notes: z.string().max(10_000).default(''),
}

/** A site inside an outing. */
export const siteSchema = z.object(siteShape)
export type Site = z.infer<typeof siteSchema>

/** A site as a file of its own. */
export const siteFileSchema = z.object({ schema: z.literal('site/1'), ...siteShape })
