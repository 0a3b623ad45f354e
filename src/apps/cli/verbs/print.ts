import { Option } from 'commander'
import type { PrintDocument } from '#jobs/contract'
import { exitCodeFor } from '../exit.ts'
import { leftOutText } from '../left-out.ts'
import type { Outcome } from '../session.ts'
import { addVerb, type Verbs } from '../verb.ts'
import { bytes, count } from '../words.ts'

export function addPrint(verbs: Verbs): void {
  addVerb(verbs, {
    name: 'print',
    arguments: '<path>',
    summary: 'make prints of the radiance images of an outing or folder, or of one radiance file',
    example: 'duskwork print demo-outing',
  })
    .option('--out <folder>', 'where the prints go (default: "prints" beside "brackets")')
    .option('--only <ids...>', 'only these brackets, by number')
    .addOption(
      new Option('--format <format>', 'jpeg, or tiff16 with 16 bits').choices(['jpeg', 'tiff16']).default('jpeg'),
    )
    .option('--artist <name>', 'who made the picture, written into the file')
    .option('--copyright <notice>', 'whose it is, written into the file')
    .action(async (path: string, options) =>
      verbs.run(options, async (host): Promise<Outcome> => {
        const { print } = await import('#jobs')
        const document = await print(host, path, {
          format: options.format,
          artist: options.artist ?? null,
          copyright: options.copyright ?? null,
          ...(options.out ? { out: options.out } : {}),
          ...(options.only ? { brackets: options.only } : {}),
        })
        return { document, text: printText(document), exitCode: exitCodeFor(document.leftOut) }
      }),
    )
}

export function printText({ prints, leftOut }: PrintDocument): string {
  const lines = prints.map(
    (p) =>
      `${p.file}  ${p.width} × ${p.height} pixels, ${p.profile}, ${bytes(p.bytes)}; ` +
      (p.proof.ok ? 'read back and right' : 'read back and NOT right'),
  )
  return `${[...lines, `${count(prints.length, 'print')}. Positions and serial numbers are never written.`, ...leftOutText(leftOut)].join('\n')}\n`
}
