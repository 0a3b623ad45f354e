import { Failure, type LeftOut } from '#core/base'
import { cfaName } from '#core/pixels'
import type { RawFile, RenderedFile } from '#picture/raw'
import type { Host, InspectDocument, InspectedFile } from './contract/index.ts'
import { sentenceFor } from './contract/index.ts'
import { pixelDigests } from './pixel-digest.ts'
import { type SeenFile, seeFile } from './see-file.ts'

/** Everything null: what a refused file starts from. */
const unknownFacts = {
  width: null,
  height: null,
  samples: null,
  cfa: null,
  bitsPerSample: null,
  compression: null,
  black: null,
  white: null,
  activeArea: null,
  crop: null,
  orientation: null,
  exposureSeconds: null,
  fNumber: null,
  iso: null,
  ev100: null,
  takenAt: null,
  focalLengthMillimetres: null,
  noise: null,
  neutral: null,
  baselineExposureStops: null,
  opcodes: [],
  attitude: null,
  position: null,
  pixelsMd5: null,
} as const satisfies Partial<InspectedFile>

function sharedFacts(seen: RawFile | RenderedFile) {
  const { width, height, samples, bitsPerSample, orientation } = seen
  const { exposureSeconds, fNumber, iso, ev100, takenAt, focalLengthMillimetres, attitude, position } = seen
  return {
    ...{ width, height, samples, bitsPerSample, orientation },
    ...{ exposureSeconds, fNumber, iso, ev100, takenAt, focalLengthMillimetres, attitude, position },
  }
}

function rawFacts(raw: RawFile) {
  const { activeArea: a, crop: c } = raw
  return {
    cfa: raw.cfa === null ? null : cfaName(raw.cfa),
    compression: raw.packing,
    black: [...raw.black.values],
    white: [...raw.white],
    activeArea: [a.y, a.x, a.y + a.height, a.x + a.width],
    crop: [c.x, c.y, c.width, c.height],
    noise: raw.noise?.map(({ scale, offset }) => ({ scale, offset })) ?? null,
    neutral: raw.colour.asShotNeutral === null ? null : [...raw.colour.asShotNeutral],
    baselineExposureStops: raw.baselineExposureStops,
    opcodes: raw.opcodes.map(({ list, id, name, optional }) => ({ list, id, name, optional })),
  }
}

const refused = (file: string, kind: InspectedFile['kind'], failure: Failure): InspectedFile => {
  const data = failure.with({ file }).toJSON()
  const refusal = { kind: data.kind, code: data.code, sentence: sentenceFor(data) }
  return { ...unknownFacts, file, kind, readable: false, refusal, opcodes: [] }
}

/** Readable, with all that the header says; the pixels' digest is still to come. */
function described(file: string, seen: RawFile | RenderedFile): InspectedFile {
  const own = seen.kind === 'dng' ? rawFacts(seen) : { compression: 'jpeg' as const }
  return {
    ...unknownFacts,
    file,
    kind: seen.kind,
    readable: true,
    refusal: null,
    ...sharedFacts(seen),
    opcodes: [],
    ...own,
  }
}

/** Runs one file's step; a Failure becomes that file's, the user's wish to stop and defects of ours go on up. */
async function orFailure<T>(step: () => Promise<T>): Promise<T | Failure> {
  try {
    return await step()
  } catch (error) {
    if (!(error instanceof Failure) || error.kind === 'aborted') throw error
    return error
  }
}

/**
 * Says of each file what it is, what is in it, and the digest of its raw samples. A file that cannot be used is
 * `readable: false` with the reason, and does not lose the others; only a stop by the user is thrown.
 */
export async function inspect(host: Host, paths: readonly string[]): Promise<InspectDocument> {
  const files: InspectedFile[] = []
  const leftOut: LeftOut[] = []
  const digests = pixelDigests(host)
  try {
    for (const [index, file] of paths.entries()) {
      host.throwIfStopped()
      const seen: SeenFile | Failure = await orFailure(() => seeFile(host.files, file))
      const description = seen instanceof Failure ? seen : seen.description
      let failure = description instanceof Failure ? description : null
      let md5: string | null = null
      if (!(description instanceof Failure) && description.kind === 'dng') {
        const digest = await orFailure(() => digests.of(file, description))
        if (digest instanceof Failure) failure = digest
        else md5 = digest
      }
      if (failure !== null) {
        files.push(refused(file, seen instanceof Failure ? 'unknown' : seen.kind, failure))
        leftOut.push({ what: file, reason: failure.code, facts: { kind: failure.kind, ...failure.facts } })
      } else if (!(description instanceof Failure)) {
        files.push({ ...described(file, description), pixelsMd5: md5 })
        leftOut.push(...description.leftOut.map((entry) => ({ ...entry, facts: { ...entry.facts, file } })))
      }
      host.progress({ stage: 'Inspecting files', done: index + 1, total: paths.length })
    }
  } finally {
    await digests.close()
  }
  return { schema: 'inspect/1', files, leftOut }
}
