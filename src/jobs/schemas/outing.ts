import { z } from 'zod'
import { positionSchema, siteSchema } from './site.ts'

const seconds = z.number().positive().max(3600)

/** One mode of a camera, as a plan needs it. */
export const cameraSchema = z.object({
  name: z.string().min(1).max(80),
  widthPixels: z.number().int().min(16).max(32_768),
  heightPixels: z.number().int().min(16).max(32_768),
  sensorWidthMillimetres: z.number().positive().max(100),
  sensorHeightMillimetres: z.number().positive().max(100),
  focalLengthMillimetres: z.number().positive().max(1000),
  /** One f-number for a fixed lens. */
  fNumbers: z.array(z.number().min(0.5).max(64)).min(1).max(40),
  isos: z.array(z.number().min(1).max(1_000_000)).min(1).max(40),
  shortestSeconds: seconds,
  longestSeconds: seconds,
  /** What the camera can bracket by itself, or what the pilot will set by hand. */
  patterns: z
    .array(z.object({ frames: z.number().int().min(1).max(15), stepStops: z.number().positive().max(6) }))
    .min(1)
    .max(40),
  /** Between the end of one frame of a bracket and the start of the next. */
  /** Read noise where it differs by ISO. */
  readByIso: z
    .array(z.object({ iso: z.number().positive(), electrons: z.number().positive() }))
    .max(40)
    .optional(),
  writeSeconds: z.number().min(0).max(120).default(0.5),
  fullWellElectrons: z.number().positive().max(1e7),
  readElectrons: z.number().positive().max(1000),
  /** One frame on the card, raw and companion together. */
  megabytesPerFrame: z.number().positive().max(2000),
})
export type CameraMode = z.infer<typeof cameraSchema>

export const aircraftSchema = z.object({
  /** Flight time that the maker states, in still air and mild weather. */
  ratedMinutes: z.number().positive().max(600),
  batteries: z.number().int().min(1).max(50).default(1),
  airspeedMetresPerSecond: z.number().positive().max(60).default(10),
  climbMetresPerSecond: z.number().positive().max(30).default(3),
  descentMetresPerSecond: z.number().positive().max(30).default(2),
  windLimitMetresPerSecond: z.number().positive().max(60).default(10),
  /** How far it wanders in a hover: sideways speed, and the camera's residual turning. */
  driftMetresPerSecond: z.number().min(0).max(5).default(0.05),
  wanderDegreesPerSecond: z.number().min(0).max(5).default(0.01),
  /** True once drift and wander were measured from this aircraft's own frames. */
  learnt: z.boolean().default(false),
  /** Light below which its obstacle sensors do not see. */
  sensingLux: z.number().min(0).max(10_000).default(10),
})
export type Aircraft = z.infer<typeof aircraftSchema>

const clouds = ['clear', 'thin', 'average', 'dark'] as const

export const weatherSchema = z.object({
  /** At 10 m above the ground, as forecasts state it. */
  windMetresPerSecond: z.number().min(0).max(80).default(3),
  /** Null where it is not known: then it is a headwind on every way. */
  windFromDegrees: z.number().min(0).max(360).nullable().default(null),
  gustMetresPerSecond: z.number().min(0).max(120).nullable().default(null),
  temperatureCelsius: z.number().min(-60).max(60).default(10),
  cloud: z.enum(clouds).default('clear'),
})
export type Weather = z.infer<typeof weatherSchema>

export const viewpointSchema = positionSchema.extend({
  name: z.string().min(1).max(80),
  heightMetres: z.number().min(0).max(1000),
  headingDegrees: z.number().min(-360).max(360),
  /** Of the camera, below the horizon negative. */
  tiltDegrees: z.number().min(-90).max(60),
  /** What the picture is balanced for: an id of the published table (`light` lists them). */
  subject: z.string().default('floodlit'),
  /** To what must be sharp; null takes the middle of the picture on level ground. */
  subjectMetres: z.number().positive().max(100_000).nullable().default(null),
  /** Stops between the darkest and the brightest part that must be held; null takes what such scenes have. */
  sceneStops: z.number().min(1).max(40).nullable().default(null),
  /** Time to spend there. */
  minutes: z.number().min(0.5).max(120).default(3),
  /** A second picture once the sky has gone dark. */
  afterDark: z.boolean().default(false),
})
export type Viewpoint = z.infer<typeof viewpointSchema>

export const intentSchema = z.object({
  /** Smear that may show, pixels at full size. */
  blurPixels: z.number().positive().max(50).default(1),
  /** Battery that is never planned for. */
  reservePercent: z.number().min(0).max(90).default(25),
  /** Above every obstacle on the way home. */
  clearanceMetres: z.number().min(0).max(200).default(20),
  /** Longest time for one bracket. */
  bracketSeconds: z.number().positive().max(600).default(30),
  /** Start of flying, local clock "HH:MM"; null starts with the light. */
  notBefore: z
    .string()
    .regex(/^([01]\d|2[0-3]):[0-5]\d$/)
    .nullable()
    .default(null),
})
export type Intent = z.infer<typeof intentSchema>

const creditText = z.string().min(1).max(2000).nullable().default(null)

/** Whose the pictures are and what is to be said of them; it goes into the prints' files. */
export const creditsSchema = z.object({
  author: creditText,
  copyright: creditText,
  /** Of every picture that has none of its own. */
  caption: creditText,
  /** By the bracket's number, such as "0007". */
  captions: z.record(z.string(), z.string().min(1).max(2000)).default({}),
})
export type Credits = z.infer<typeof creditsSchema>

const notesSchema = z.string().max(10_000).default('')

/** outing.json: what the photographer states of one visit. Whatever is absent takes the default said with its field. */
export const outingSchema = z.object({
  schema: z.literal('outing/1'),
  title: z.string().min(1).max(120),
  date: z.string(),
  site: siteSchema,
  camera: cameraSchema.nullable().default(null),
  aircraft: aircraftSchema.nullable().default(null),
  weather: weatherSchema.prefault({}),
  intent: intentSchema.prefault({}),
  viewpoints: z.array(viewpointSchema).max(12).default([]),
  credits: creditsSchema.prefault({}),
  notes: notesSchema,
})
export type OutingDocument = z.infer<typeof outingSchema>
