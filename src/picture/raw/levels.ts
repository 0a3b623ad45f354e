import { type LeftOut, malformed, overLimit } from '#core/base'
import type { TagReader } from '#core/formats'
import type { Region } from '#core/pixels'
import type { BlackLevel, SampleFormat } from './types.ts'

export interface Levels {
  readonly linearisation: Uint16Array | null
  readonly black: BlackLevel
  readonly white: readonly number[]
}

const MAX_REPEAT = 64
const LARGEST = 65535

/** LinearizationTable: stored value → linear value; values past its end use the last entry (DNG 1.6 chapter 5). */
function linearisation(tags: TagReader): Uint16Array | null {
  const table = tags.mustNumbers(50712)
  if (table === null) return null
  if (table.length > 65536) throw overLimit('linearisation-too-long', { found: table.length, limit: 65536 })
  return Uint16Array.from(table)
}

/** BlackLevel with its repeat size (rows, columns); a single value stands for the whole pattern. */
function blackPattern(tags: TagReader, samplesPerPixel: number) {
  const [repeatRows, repeatColumns] = (tags.mustNumbers(50713) ?? [1, 1]) as [number, number?]
  if (!(repeatRows >= 1 && repeatColumns !== undefined && repeatColumns >= 1)) {
    throw malformed('black-repeat', { tag: 50713, rows: repeatRows, columns: repeatColumns ?? 0 })
  }
  if (repeatRows > MAX_REPEAT || repeatColumns > MAX_REPEAT) {
    throw overLimit('black-repeat', { rows: repeatRows, columns: repeatColumns, limit: MAX_REPEAT })
  }
  const count = repeatRows * repeatColumns * samplesPerPixel
  const found = tags.mustNumbers(50714) ?? [0]
  if (found.length !== count && found.length !== 1) {
    throw malformed('black-count', { tag: 50714, expected: count, found: found.length })
  }
  if (!found.every((v) => Number.isFinite(v) && v >= 0)) {
    throw malformed('black-level', { tag: 50714, found: found.slice(0, 16).map((v) => String(v)) })
  }
  const values = found.length === count ? found : new Array<number>(count).fill(found[0]!)
  return { repeatRows, repeatColumns, values }
}

function blackDeltas(tags: TagReader, tag: number, expected: number, leftOut: LeftOut[]): number[] | null {
  const deltas = tags.numbers(tag)
  if (deltas === null) return null
  if (deltas.length === expected && deltas.every((d) => Math.abs(d) <= LARGEST))
    return deltas.some((d) => d !== 0) ? deltas : null
  leftOut.push({ what: `tag ${tag}`, reason: 'black-delta-unusable', facts: { tag, expected, found: deltas.length } })
  return null
}

function whiteLevels(tags: TagReader, { bitsPerSample, samplesPerPixel }: SampleFormat, leftOut: LeftOut[]): number[] {
  const byDefault = 2 ** bitsPerSample - 1
  const found = tags.mustNumbers(50717) ?? []
  return Array.from({ length: samplesPerPixel }, (_, i) => {
    const value = found[i] ?? found[0] ?? byDefault
    if (value > 0 && value <= LARGEST) return value
    const used = value > LARGEST ? LARGEST : byDefault
    leftOut.push({ what: 'white level', reason: 'white-unusable', facts: { tag: 50717, found: String(value), used } })
    return used
  })
}

/**
 * Linearisation, black and white of the raw directory.
 * @throws malformed "black-repeat", "black-count", "black-level", "white-below-black"; limit "black-repeat", "linearisation-too-long"
 */
export function levelsOf(tags: TagReader, format: SampleFormat, active: Region, leftOut: LeftOut[]): Levels {
  const pattern = blackPattern(tags, format.samplesPerPixel)
  const black = {
    ...pattern,
    deltaColumns: blackDeltas(tags, 50715, active.width, leftOut),
    deltaRows: blackDeltas(tags, 50716, active.height, leftOut),
  }
  const white = whiteLevels(tags, format, leftOut)
  white.forEach((level, sample) => {
    const highest = Math.max(...pattern.values.filter((_, i) => i % format.samplesPerPixel === sample))
    if (level <= highest) throw malformed('white-below-black', { white: level, black: highest })
  })
  return { linearisation: linearisation(tags), black, white }
}
