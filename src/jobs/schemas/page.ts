import { z } from 'zod'
import { outingSchema } from './outing.ts'
import { printFormats, printSettingsSchema } from './print.ts'

/** What the local page may ask of the server. Everything is named by ids that the server gave out; nothing is a path but a card. */

const id = z.string().min(1).max(120)
const frameName = z.string().min(1).max(400)
const ids = z.array(id).max(2000)

const joinSchema = z.object({ parts: z.array(frameName).min(2).max(200) })
const splitSchema = z.object({ bracket: id, before: frameName })

export const jobRequestSchema = z.discriminatedUnion('job', [
  z.object({ job: z.literal('demo'), scale: z.number().min(0.1).max(1).default(1) }),
  z.object({ job: z.literal('card'), card: z.string().min(1).max(4096), title: z.string().min(1).max(80).optional() }),
  z.object({ job: z.literal('plan') }),
  z.object({ job: z.literal('recon') }),
  z.object({ job: z.literal('group') }),
  z.object({ job: z.literal('check') }),
  z.object({ job: z.literal('merge'), brackets: ids.optional() }),
  z.object({
    job: z.literal('print'),
    brackets: ids.min(1),
    formats: z.array(z.enum(printFormats)).min(1).max(4),
    artist: z.string().max(120).nullable().default(null),
    copyright: z.string().max(200).nullable().default(null),
  }),
])
export type JobRequest = z.infer<typeof jobRequestSchema>

/** A change to the outing's documents; each can be undone. */
export const changeRequestSchema = z.discriminatedUnion('change', [
  z.object({
    change: z.literal('outing'),
    /** Of outing.json as the page last read it; null for a first one. */
    tag: z.string().max(80).nullable(),
    document: outingSchema,
    words: z.string().min(1).max(120),
  }),
  z.object({ change: z.literal('join'), ...joinSchema.shape }),
  z.object({ change: z.literal('split'), ...splitSchema.shape }),
  z.object({ change: z.literal('look'), bracket: id, settings: printSettingsSchema.nullable() }),
  z.object({ change: z.literal('undo') }),
  z.object({ change: z.literal('redo') }),
])
export type ChangeRequest = z.infer<typeof changeRequestSchema>

export const newOutingRequestSchema = z.object({
  title: z.string().min(1).max(120),
  date: z.string().max(10),
  latitude: z.number(),
  longitude: z.number(),
  timeZone: z.string().max(80).nullable().default(null),
})
export const lookRequestSchema = z.object({ settings: printSettingsSchema })

/** looks.json in an outing: print settings that were chosen for a bracket. */
export const looksSchema = z.object({
  schema: z.literal('looks/1'),
  looks: z.record(id, printSettingsSchema),
})
export type LooksDocument = z.infer<typeof looksSchema>

/** work.json in an outing: the job that runs on it; what is left after a kill says what to go on with. */
export const workSchema = z.object({
  schema: z.literal('work/1'),
  since: z.string(),
  request: jobRequestSchema,
})
export type WorkDocument = z.infer<typeof workSchema>
