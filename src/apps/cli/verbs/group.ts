import { Failure } from '#core/base'
import { type GroupDocument, shutter } from '#jobs/contract'
import { exitCodeFor } from '../exit.ts'
import { leftOutText } from '../left-out.ts'
import type { Outcome } from '../session.ts'
import { addVerb, type Verbs } from '../verb.ts'
import { cameraTime, count, duration, stops } from '../words.ts'

export function addGroup(verbs: Verbs): void {
  addVerb(verbs, {
    name: 'group',
    arguments: '<folder>',
    summary: 'find the brackets among the frames of an outing or of any folder',
    example: 'duskwork group demo-outing',
  })
    .option('--join <parts>', 'brackets by number (or frames by name) that are one: 0003,0004; may be repeated', list)
    .option('--split <place>', 'a bracket and the frame its second part begins with: 0005@FILE; may be repeated', list)
    .option('--forget', 'drop all earlier corrections first; numbers are then those without them')
    .action(async (folder: string, options) =>
      verbs.run(options, async (host): Promise<Outcome> => {
        const { group } = await import('#jobs')
        const { document } = await group(host, folder, {
          join: (options.join ?? []).map((parts: string) => parts.split(',').map((part) => part.trim())),
          split: (options.split ?? []).map(placeOf),
          forget: options.forget === true,
        })
        return { document, text: groupText(document), exitCode: exitCodeFor(document.leftOut) }
      }),
    )
}

/** An option that may be repeated. */
const list = (value: string, before: string[] = []): string[] => [...before, value]

/** "0005@FILE". @throws Failure usage "split-form" */
function placeOf(text: string): { bracket: string; before: string } {
  const at = text.indexOf('@')
  if (at < 1 || at === text.length - 1) throw new Failure('usage', 'split-form', { found: text })
  return { bracket: text.slice(0, at).trim(), before: text.slice(at + 1).trim() }
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
        `${nameOf(b.frames[0]!)} to ${nameOf(b.frames.at(-1)!)}; ${settled(b) ?? sureness(b.confidence)}`,
    )
  }
  if (singles.length > 0) lines.push('', 'Single frames:')
  for (const f of singles)
    lines.push(
      `  ${nameOf(f)}  ${shutter(f.exposureSeconds)}, ISO ${f.iso ?? 'unknown'}; ${cameraTime(f.takenAt.camera)}`,
    )
  if (doubts.length > 0) lines.push('', 'Please look at:')
  for (const d of doubts) lines.push(`  ${d.question} (${d.evidence})${remedy(d, document)}`)
  lines.push(...modeLines(document), ...clockLines(document), ...correctionLines(document))
  return `${[...lines, ...leftOutText(document.leftOut)].join('\n')}\n`
}

const fileName = (file: string) => file.split(/[\\/]/).at(-1)!
const nameOf = (frame: GroupedFrame) => fileName(frame.file)

/** What the photographer has said of a bracket, which needs no probability. */
const settled = ({ evidence }: GroupDocument['brackets'][number]) => evidence.find((e) => e.endsWith(' by you'))

/** The correction that would answer a question about where a bracket ends. */
function remedy({ about, brackets, frames }: GroupDocument['doubts'][number], document: GroupDocument): string {
  const [id, next] = brackets
  const [file] = frames
  if (about !== 'boundary' || id === undefined || file === undefined) return ''
  const inside = document.brackets.find((b) => b.id === id)?.frames.some((f) => f.file === file)
  return inside ? `; if so: --split ${id}@${fileName(file)}` : `; if so: --join ${id},${next ?? fileName(file)}`
}

function modeLines({ modes }: GroupDocument): string[] {
  if (modes.length < 2) return []
  const words = modes.map((m) => `${m.width} × ${m.height} ${m.source} (${count(m.frames, 'frame')})`)
  return ['', `Picture sizes: ${words.join(', ')}.`]
}

function clockLines({ clock }: GroupDocument): string[] {
  if (!clock) return []
  const lines: string[] = []
  const { offsetSeconds: offset } = clock
  if (offset !== null && offset !== 0)
    lines.push(
      `The camera’s clock is ${duration(Math.abs(offset))} ${offset > 0 ? 'slow' : 'fast'}: ` +
        `${offset > 0 ? 'add' : 'take off'} ${Math.abs(offset)} s (${count(clock.frames, 'frame')}; ${clock.basis}).`,
    )
  for (const { before, seconds } of clock.steps)
    lines.push(
      `Before ${fileName(before)} the camera’s clock was set ${seconds < 0 ? 'back' : 'forward'} by ${duration(Math.abs(seconds))}; the order of frames allows for it.`,
    )
  return lines.length > 0 ? ['', ...lines] : []
}

function correctionLines({ corrections: { groups, remembered } }: GroupDocument): string[] {
  if (groups.length === 0) return []
  const settledGroups = count(groups.length, 'group')
  return remembered
    ? ['', `${settledGroups} as you corrected them, remembered in corrections.json; --forget drops them.`]
    : [
        '',
        `${settledGroups} as you corrected them, for this once: only an outing (a folder with originals/) remembers corrections.`,
      ]
}

function sureness(confidence: number): string {
  if (confidence >= 0.9) return 'sure'
  return `${confidence >= 0.7 ? 'fairly sure' : 'not sure'} (${Math.round(100 * confidence)} %)`
}
