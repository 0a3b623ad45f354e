import { type GroupDocument, shutter } from '#jobs/contract'
import { exitCodeFor } from '../exit.ts'
import { leftOutText } from '../left-out.ts'
import type { Outcome } from '../session.ts'
import { addVerb, type Verbs } from '../verb.ts'
import { cameraTime, count, stops } from '../words.ts'

export function addGroup(verbs: Verbs): void {
  addVerb(verbs, {
    name: 'group',
    arguments: '<folder>',
    summary: 'find the brackets among the frames of an outing or of any folder',
    example: 'duskwork group demo-outing',
  }).action(async (folder: string, options) =>
    verbs.run(options, async (host): Promise<Outcome> => {
      const { group } = await import('#jobs')
      const { document } = await group(host, folder)
      return { document, text: groupText(document), exitCode: exitCodeFor(document.leftOut) }
    }),
  )
}

type GroupedFrame = GroupDocument['singles'][number]

export function groupText(document: GroupDocument): string {
  const { brackets, singles, doubts } = document
  const lines = [
    `${count(document.frames, 'frame')}: ${count(brackets.length, 'bracket')}, ${count(singles.length, 'single frame')}.`,
  ]
  if (brackets.length > 0) lines.push('')
  for (const b of brackets) {
    const times = b.frames.map((f) => f.exposureSeconds ?? 0).sort((x, y) => x - y)
    lines.push(
      `  ${b.id}  ${count(b.frames.length, 'frame')}, ${shutter(times[0]!)} to ${shutter(times.at(-1)!)}, ` +
        `${stops(b.stepStops)} apart; ${cameraTime(b.frames[0]!.takenAt.camera)}; ` +
        `${nameOf(b.frames[0]!)} to ${nameOf(b.frames.at(-1)!)}; ${sureness(b.confidence)}`,
    )
  }
  if (singles.length > 0) lines.push('', 'Single frames:')
  for (const f of singles)
    lines.push(
      `  ${nameOf(f)}  ${shutter(f.exposureSeconds)}, ISO ${f.iso ?? 'unknown'}; ${cameraTime(f.takenAt.camera)}`,
    )
  if (doubts.length > 0) lines.push('', 'Please look at:')
  for (const d of doubts) lines.push(`  ${d.question} (${d.evidence})`)
  return `${[...lines, ...leftOutText(document.leftOut)].join('\n')}\n`
}

const nameOf = (frame: GroupedFrame) => frame.file.split(/[\\/]/).at(-1)!

function sureness(confidence: number): string {
  if (confidence >= 0.9) return 'sure'
  return `${confidence >= 0.7 ? 'fairly sure' : 'not sure'} (${Math.round(100 * confidence)} %)`
}
