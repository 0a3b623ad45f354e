import type { CheckDocument } from '#jobs/contract'
import { exitCodeFor } from '../exit.ts'
import { leftOutText } from '../left-out.ts'
import type { Outcome } from '../session.ts'
import { addVerb, type Verbs } from '../verb.ts'
import { count, duration } from '../words.ts'

export function addCheck(verbs: Verbs): void {
  addVerb(verbs, {
    name: 'check',
    arguments: '<folder>',
    summary: 'measure every frame of an outing or folder, and say of each bracket: keep, doubtful or fly again',
    example: 'duskwork check demo-outing',
  })
    .option('--only <ids...>', 'only these brackets, by number')
    .action(async (folder: string, options) =>
      verbs.run(options, async (host): Promise<Outcome> => {
        const { check } = await import('#jobs')
        const document = await check(host, folder, options.only ? { brackets: options.only } : {})
        if (document.report !== null) {
          const { renderContactReport } = await import('#apps/report')
          await host.files.write(document.report, renderContactReport(document))
        }
        return { document, text: checkText(document), exitCode: exitCodeFor(document.leftOut) }
      }),
    )
}

const verdictWords = { keep: 'keep', doubtful: 'doubtful', 're-fly': 'fly again' } as const
const nameOf = (file: string) => file.split(/[\\/]/).at(-1)!

export function checkText(document: CheckDocument): string {
  const { brackets, frames, doubts } = document
  const lines = [
    `${count(frames.length, 'frame')} measured in ${duration(document.seconds)}; ${count(brackets.length, 'bracket')}:`,
    '',
  ]
  for (const b of brackets) {
    lines.push(`  ${b.id}  ${verdictWords[b.verdict]}; sharpest: ${nameOf(b.best)}${sharpness(document, b.best)}`)
    lines.push(...b.reasons.map((r) => `        ${r.words}`), ...b.advice.map((a) => `        → ${a}`))
  }
  if (doubts.length > 0)
    lines.push('', 'Please look at:', ...doubts.map(({ question, evidence }) => `  ${question} (${evidence})`))
  if (document.report !== null) lines.push('', `Report: ${document.report}`)
  return `${[...lines, ...leftOutText(document.leftOut)].join('\n')}\n`
}

function sharpness({ frames }: CheckDocument, file: string): string {
  const found = frames.find((f) => f.file === file)
  const parts = [
    found?.smear ? `smear ${found.smear.pixels.toFixed(1)} px` : null,
    found?.focus ? `blur ${found.focus.blurPixels.toFixed(1)} px` : null,
  ].filter((p) => p !== null)
  return parts.length > 0 ? ` (${parts.join(', ')})` : ''
}
