import { type Failure, type LeftOut, unsupported } from '#core/base'
import { childDirectories, type TagReader, type TiffFile, tagReader } from '#core/formats'

const CFA = 32803
const LINEAR_RAW = 34892
const MAX_DEPTH = 3
const MAX_CHILDREN = 64

/** A directory whose photometric interpretation is raw, with the directory's facts needed to choose. */
interface Candidate {
  readonly reader: TagReader
  readonly cfa: boolean
  readonly pixels: number
}

/**
 * Finds the directory of the raw picture: NewSubfileType 0 (full resolution) with a CFA or linear-raw photometric
 * interpretation, in the top chain or among the SubIFDs; IFD0 may be a thumbnail. A mosaic goes before a linear picture,
 * a larger one before a smaller.
 * @throws unsupported "no-raw-picture", or the fault of a directory that could not be read where none was found
 */
export function rawDirectory(tiff: TiffFile, leftOut: LeftOut[]): TagReader {
  const seen = new Set(tiff.directories.map((d) => d.offset))
  const problems: Failure[] = [...tiff.problems]
  const candidates: Candidate[] = []
  let level = tiff.directories
  for (let depth = 0; depth < MAX_DEPTH && level.length > 0; depth++) {
    const readers = level.map((directory) => tagReader(tiff, directory, leftOut))
    candidates.push(...readers.flatMap(asCandidate))
    level = readers.flatMap((reader) => {
      const children = childDirectories(tiff, reader.numbers(330, MAX_CHILDREN) ?? [], seen)
      problems.push(...children.problems)
      return children.directories
    })
  }
  candidates.sort((a, b) => Number(b.cfa) - Number(a.cfa) || b.pixels - a.pixels)
  const best = candidates[0]
  if (best === undefined) throw problems[0] ?? unsupported('no-raw-picture')
  for (const p of problems) leftOut.push({ what: 'directory', reason: p.code, facts: p.facts })
  return best.reader
}

function asCandidate(reader: TagReader): Candidate[] {
  const photometric = reader.number(262)
  if ((reader.number(254) ?? 0) !== 0 || (photometric !== CFA && photometric !== LINEAR_RAW)) return []
  return [{ reader, cfa: photometric === CFA, pixels: (reader.number(256) ?? 0) * (reader.number(257) ?? 0) }]
}
