import type { FailureKind } from '#core/base'
import type {
  CheckDocument,
  CopyManifest,
  GroupDocument,
  OutingDocument,
  PlanDocument,
  PlanViewpoint,
  PrintRecord,
  PrintSettings,
  RadianceRecord,
} from '#jobs/schemas'
import type { Progress } from './host.ts'

/** What the local page is told; the server and the page share these types and nothing else. */

/** A failure as the page shows it: one sentence, the facts behind a fold. */
export interface SaidFailure {
  readonly kind: FailureKind | 'fault'
  readonly code: string
  readonly sentence: string
  readonly facts: Readonly<Record<string, unknown>>
}

export const jobNames = ['demo', 'card', 'plan', 'recon', 'group', 'check', 'merge', 'print'] as const
export type JobName = (typeof jobNames)[number]

export interface JobState {
  readonly id: string
  readonly job: JobName
  /** Of the outing that it works on. */
  readonly outing: string
  readonly state: 'waiting' | 'running' | 'done' | 'failed' | 'stopped'
  readonly progress: Progress | null
  /** Seconds that it has run, and that it will still take as far as the present stage tells. */
  readonly seconds: number
  readonly secondsLeft: number | null
  readonly failure: SaidFailure | null
  /** The job's own document, once it is done. */
  readonly document: unknown
}

/** One outing in the list of those that the page may open. */
export interface OutingEntry {
  readonly id: string
  readonly title: string
  readonly date: string | null
  readonly folder: string
}

/** A card reader's folder, or one that was named when the page was started. */
export interface CardEntry {
  readonly id: string
  readonly folder: string
  readonly stills: number
}

export interface PageState {
  readonly version: string
  readonly home: string
  readonly outings: readonly OutingEntry[]
  readonly cards: readonly CardEntry[]
  readonly jobs: readonly JobState[]
  /** Where a demonstration would be made; null when there is one. */
  readonly demo: string | null
}

export interface MergedState {
  readonly id: string
  readonly record: RadianceRecord
  /** Changes whenever the radiance image is written again. */
  readonly stamp: string
  /** Whether the bracket's frames have been regrouped since. */
  readonly stale: boolean
  readonly previewStamp: string | null
  readonly hasSources: boolean
}

export interface PrintState {
  readonly file: string
  readonly bytes: number
  readonly stamp: string
  readonly record: PrintRecord
}

/** What was being done when the program ended without finishing it. */
export interface Unfinished {
  readonly job: JobName
  readonly since: string
  readonly options: Readonly<Record<string, unknown>>
}

/** Everything that an outing's folder says, at one moment. Paths in it are names below the outing. */
export interface OutingState {
  readonly id: string
  readonly title: string
  readonly folder: string
  /** Changes whenever one of the documents below does. */
  readonly revision: string
  readonly outing: OutingDocument | null
  /** Of outing.json as it was read: a change names the one it was made from. */
  readonly outingTag: string | null
  readonly plan: PlanDocument | null
  readonly originals: number
  readonly copy:
    | (Pick<CopyManifest, 'card' | 'safeToWipe'> & {
        files: number
        failed: readonly { readonly file: string; readonly reason: string }[]
      })
    | null
  readonly group: GroupDocument | null
  readonly check: CheckDocument | null
  readonly merged: readonly MergedState[]
  readonly prints: readonly PrintState[]
  /** Print settings that were chosen on the page, by bracket. */
  readonly looks: Readonly<Record<string, PrintSettings>>
  readonly unfinished: Unfinished | null
  /** What the next undo and redo would change, in words. */
  readonly undo: string | null
  readonly redo: string | null
  /** Documents that are there and cannot be used. */
  readonly faults: readonly SaidFailure[]
}

/** Settings and bracket of one viewpoint at a chosen minute, and ten minutes later. */
export interface PlanMinute {
  readonly viewpoint: string
  readonly utc: string
  readonly local: string
  readonly now: MinutePicture
  readonly tenMinutesLate: MinutePicture & { readonly stopsDarker: number }
}

export type MinutePicture = Pick<
  PlanViewpoint,
  | 'settings'
  | 'bracket'
  | 'hoverLimitSeconds'
  | 'predictedSnr'
  | 'predictedSnrSingle'
  | 'keepOdds'
  | 'keepBasis'
  | 'repeats'
  | 'skyEv100'
  | 'groundEv100'
  | 'cardBytes'
  | 'remarks'
>

/** A radiance image on the desk: what the tone ladder is drawn from. */
export interface DeskState {
  readonly width: number
  readonly height: number
  readonly preview: { readonly width: number; readonly height: number }
  /** Chosen from the picture itself. */
  readonly automatic: PrintSettings
  /** Share of the picture's area by stops of luminance; the first bin begins at `fromStops`. */
  readonly histogram: { readonly fromStops: number; readonly binStops: number; readonly shares: readonly number[] }
  /** Stops at which a pixel of the merged picture is as large as its noise; null where the variance is not known. */
  readonly noiseFloorStops: number | null
  readonly statistics: Readonly<Record<string, number>>
  readonly candelaPerSquareMetrePerUnit: number | null
}

/** One pixel, as the viewer's readout says it. */
export interface PixelState {
  readonly x: number
  readonly y: number
  /** Linear, 1 = saturation of the reference frame; null for a finished picture. */
  readonly radiance: readonly [number, number, number] | null
  readonly stops: number | null
  readonly ev100: number | null
  /** 8-bit output values. */
  readonly code: readonly [number, number, number]
}

export interface PictureState {
  readonly width: number
  readonly height: number
  readonly tile: number
  /** Level 0 is full size; each next one is about half as large. */
  readonly levels: readonly { readonly width: number; readonly height: number }[]
}

export type PageEvent =
  | { readonly type: 'job'; readonly job: JobState }
  | { readonly type: 'changed'; readonly outing: string; readonly revision: string }
  | { readonly type: 'page' }
