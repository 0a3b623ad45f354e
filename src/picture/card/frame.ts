import type { ExposureFacts } from '#picture/raw'

/** A still file of the card as its header describes it. */
export interface PictureEntry {
  readonly file: string
  readonly kind: 'raw' | 'rendered'
  readonly width: number
  readonly height: number
  readonly facts: ExposureFacts
}

/** Any file of the card; `other` is all that is no still picture (clips, logs, side files). */
export type CardEntry = PictureEntry | { readonly file: string; readonly kind: 'other' }

/** One exposure: the raw file, or the camera's JPEG where there is no raw; a raw's JPEG is its companion. */
export interface Frame {
  readonly file: string
  readonly companion: string | null
  readonly source: 'raw' | 'rendered'
  readonly width: number
  readonly height: number
  readonly facts: ExposureFacts
}

export interface NameParts {
  readonly folder: string
  /** Without the extension. */
  readonly base: string
  readonly extension: string
}

/** A path in its parts; both kinds of slash separate, so that lists made on another system still read. */
export function nameParts(file: string): NameParts {
  const slash = Math.max(file.lastIndexOf('/'), file.lastIndexOf('\\'))
  const name = file.slice(slash + 1)
  const dot = name.lastIndexOf('.')
  return dot > 0
    ? { folder: file.slice(0, slash + 1), base: name.slice(0, dot), extension: name.slice(dot + 1) }
    : { folder: file.slice(0, slash + 1), base: name, extension: '' }
}

export interface Counter {
  readonly value: number
  /** 10 to the number of digits: where the camera starts again. */
  readonly modulus: number
}

/** The camera's file counter: the last run of 3 to 6 digits in the base name; null when there is none. */
export function fileCounter(file: string): Counter | null {
  const runs = nameParts(file).base.match(/\d+/g)
  const last = runs?.at(-1)
  if (!last || last.length > 6) return null
  return { value: Number(last), modulus: 10 ** last.length }
}

/** How many exposures lie from one counter to the next, going round at the rollover; 1 = they follow on; null = unknown. */
export function counterStep(from: Counter | null, to: Counter | null): number | null {
  if (!from || !to || from.modulus !== to.modulus) return null
  const step = to.value - from.value
  const half = from.modulus / 2
  // Cameras restart at 0001, not 0000: the step over the rollover counts one less.
  if (step < -half) return step + from.modulus - 1 || 1
  if (step > half) return step - from.modulus + 1
  return step
}
