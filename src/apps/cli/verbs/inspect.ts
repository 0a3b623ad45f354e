import { type InspectDocument, type InspectedFile, shutter } from '#jobs/contract'
import { exit } from '../exit.ts'
import type { Outcome } from '../session.ts'
import { addVerb, type Verbs } from '../verb.ts'
import { cameraTime, count, signed } from '../words.ts'

export function addInspect(verbs: Verbs): void {
  addVerb(verbs, {
    name: 'inspect',
    arguments: '<files...>',
    summary: 'say what raw and JPEG files hold, and whether they can be used',
    example: 'duskwork inspect demo-outing/originals/*.DNG',
  }).action(async (files: string[], options) =>
    verbs.run(options, async (host): Promise<Outcome> => {
      const { inspect } = await import('#jobs')
      const document = await inspect(host, files)
      return { document, text: inspectText(document), exitCode: exitCodeFor(document) }
    }),
  )
}

/** Nothing usable: the input cannot be used. Some refused: done, with something left out. */
function exitCodeFor({ files }: InspectDocument): number {
  const refused = files.filter((f) => !f.readable).length
  if (refused === 0) return exit.done
  return refused === files.length ? exit.input : exit.fellShort
}

export function inspectText({ files }: InspectDocument): string {
  const readable = files.filter((f) => f.readable).length
  const lines = files.flatMap((file) => [...fileLines(file), ''])
  return `${[...lines, `${count(files.length, 'file')}, ${readable} can be used.`].join('\n')}\n`
}

function fileLines(f: InspectedFile): string[] {
  if (f.refusal) return [f.refusal.sentence]
  const kind =
    f.samples === 'rendered' ? 'the camera’s JPEG' : f.samples === 'cfa' ? `raw, ${f.cfa} mosaic` : 'raw, linear colour'
  const packing = f.compression === null || f.compression === 'jpeg' ? '' : `, ${packings[f.compression]}`
  const lines = [`${f.file}`, `  ${kind}, ${f.width} × ${f.height} pixels, ${f.bitsPerSample} bits${packing}`]
  lines.push(`  ${exposureWords(f)}; ${cameraTime(f.takenAt?.camera ?? null)}`)
  if (f.black && f.white)
    lines.push(
      `  black ${distinct(f.black)}, white ${distinct(f.white)}; noise ${f.noise ? 'described in the file' : 'not described in the file'}`,
    )
  if (f.opcodes.length > 0) lines.push(`  corrections in the file: ${f.opcodes.map((o) => o.name).join(', ')}`)
  if (f.attitude) lines.push(`  ${attitudeWords(f.attitude)}`)
  return lines
}

const packings: Record<string, string> = {
  none: 'uncompressed',
  'lossless-jpeg': 'lossless JPEG',
  deflate: 'deflate',
}

function exposureWords(f: InspectedFile): string {
  const parts = [
    shutter(f.exposureSeconds),
    f.fNumber === null ? 'unknown f-number' : `f/${f.fNumber}`,
    f.iso === null ? 'unknown ISO' : `ISO ${f.iso}`,
  ]
  return `${parts.join(', ')}${f.ev100 === null ? '' : ` (EV ${signed(f.ev100, 1)} at ISO 100)`}`
}

function attitudeWords({
  relativeHeightMetres: height,
  gimbalPitch: pitch,
  gimbalYaw: yaw,
}: NonNullable<InspectedFile['attitude']>): string {
  const parts = [
    height === null ? null : `${signed(height, 1)} m above take-off`,
    pitch === null ? null : `camera tilted ${signed(pitch, 1)}°`,
    yaw === null ? null : `heading ${signed(((yaw % 360) + 360) % 360, 0)}°`,
  ]
  return parts.filter((p) => p !== null).join(', ') || 'no attitude'
}

const distinct = (values: readonly number[]) => [...new Set(values)].join('/')
