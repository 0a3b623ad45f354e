import { InvalidArgumentError } from 'commander'
import type { DemoDocument } from '#jobs/contract'
import { exitCodeFor } from '../exit.ts'
import { leftOutText } from '../left-out.ts'
import type { Outcome } from '../session.ts'
import { addVerb, type Verbs } from '../verb.ts'
import { count, duration } from '../words.ts'

export function addDemo(verbs: Verbs): void {
  addVerb(verbs, {
    name: 'demo',
    arguments: '<folder>',
    summary: 'write a demonstration outing of known truth and do the whole job on it',
    example: 'duskwork demo demo-outing',
  })
    .option('--scale <share>', 'size of the pictures, 0.1 to 1: less is quicker', scaleOf, 1)
    .action(async (folder: string, options) =>
      verbs.run(options, async (host): Promise<Outcome> => {
        const { demo, plan } = await import('#jobs')
        const { document, checked } = await demo(host, folder, { scale: options.scale })
        const { renderContactReport, renderDemoReport, writeEveningPages } = await import('#apps/report')
        await writeEveningPages(host, folder, await plan(host, folder))
        if (document.contact !== null) await host.files.write(document.contact, renderContactReport(checked))
        await host.files.write(document.report, renderDemoReport(document))
        return { document, text: demoText(document), exitCode: exitCodeFor(document.leftOut) }
      }),
    )
}

/** Below a tenth too little is left to be held against the truth. */
function scaleOf(text: string): number {
  const scale = Number(text)
  if (!(scale >= 0.1 && scale <= 1)) throw new InvalidArgumentError('It is a number from 0.1 to 1.')
  return scale
}

export function demoText(document: DemoDocument): string {
  const lines = [
    `${count(document.brackets.length, 'bracket')} made, checked, merged and printed in ${duration(document.seconds)}.`,
    '',
    ...document.brackets.flatMap((b) => [
      `  ${b.id}  ${b.scene}; ${b.width} × ${b.height} pixels, merged in ${duration(b.seconds)}`,
      `        movement found to ${b.shiftErrorPixelsRms?.toFixed(3) ?? 'unknown'} pixels, brightness slope ${b.radianceSlope?.toFixed(4) ?? 'unknown'} of 1`,
    ]),
    '',
    'Pictures:',
    ...document.pictures.map((p) => `  ${p}`),
    'Field card of its evening:',
    `  ${document.card}`,
    ...(document.contact === null ? [] : ['Frames judged:', `  ${document.contact}`]),
    'Report:',
    `  ${document.report}`,
    ...leftOutText(document.leftOut),
  ]
  return `${lines.join('\n')}\n`
}
