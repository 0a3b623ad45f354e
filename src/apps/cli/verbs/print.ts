import { InvalidArgumentError, Option } from 'commander'
import type { FileSettings, PrintDocument, PrintFormat } from '#jobs/contract'
import { exitCodeFor } from '../exit.ts'
import { leftOutText } from '../left-out.ts'
import type { Outcome } from '../session.ts'
import { addVerb, type Verbs } from '../verb.ts'
import { bytes, count } from '../words.ts'

const formats: readonly PrintFormat[] = ['jpeg', 'hdr-jpeg', 'avif', 'tiff', 'png', 'exr', 'dng']
const keeps: FileSettings['keep'] = ['author', 'copyright', 'caption', 'exposure', 'time', 'camera']

/** Words with commas between them, each one of a list; each once, in the order given. */
const listOf =
  <Word extends string>(known: readonly Word[]) =>
  (text: string): Word[] =>
    [...new Set(text.split(',').map((word) => word.trim()))].map((word) => {
      const found = known.find((k) => k === word)
      if (!found) throw new InvalidArgumentError(`“${word}” is none of ${known.join(', ')}.`)
      return found
    })

const wholeNumber = (low: number, high: number) => (text: string) => {
  const value = Number(text)
  if (!/^\d+$/.test(text) || value < low || value > high)
    throw new InvalidArgumentError(`A whole number from ${low} to ${high} is wanted.`)
  return value
}

export function addPrint(verbs: Verbs): void {
  addVerb(verbs, {
    name: 'print',
    arguments: '<path>',
    summary: 'make prints of the radiance images of an outing or folder, or of one radiance file',
    example: 'duskwork print demo-outing --as jpeg,tiff --long-side 2048 --name "{date} {bracket}"',
  })
    .option('--out <folder>', 'where the prints go (default: "prints" beside "brackets")')
    .option('--only <ids...>', 'only these brackets, by number')
    .option('--as <formats>', `one or more of ${formats.join(', ')}, with commas (default: jpeg)`, listOf(formats))
    .addOption(new Option('--format <format>', 'as --as').choices(['jpeg', 'tiff16']).hideHelp().conflicts('as'))
    .option('--long-side <pixels>', 'at most this long; prints are never enlarged', wholeNumber(16, 65_535))
    .option('--quality <percent>', 'of jpeg, hdr-jpeg and avif, 1 to 100', wholeNumber(1, 100))
    .option(
      '--name <pattern>',
      'file name without its ending; {bracket}, {date}, {time}, {title}, {author} and {size} are filled in (default: "{bracket}")',
    )
    .option('--replace', 'write over prints that are there and hold something else')
    .option(
      '--keep <facts>',
      `what the file may say: ${keeps.join(', ')}, with commas, or none (default: all of them)`,
      (text) => (text.trim() === 'none' ? [] : listOf(keeps)(text)),
    )
    .option('--artist <name>', 'who made the picture, written into the file')
    .option('--copyright <notice>', 'whose it is, written into the file')
    .option('--caption <text>', 'what it shows, written into the file')
    .addOption(
      new Option('--dng-camera <whose>', 'the camera that a DNG names: own, or taken for that of the frames')
        .choices(['own', 'taken'])
        .default('own'),
    )
    .action(async (path: string, options) =>
      verbs.run(options, async (host): Promise<Outcome> => {
        const { print } = await import('#jobs')
        const earlier: PrintFormat[] | null = options.format ? [options.format === 'jpeg' ? 'jpeg' : 'tiff'] : null
        const asked: PrintFormat[] | null = options.as ?? earlier
        const document = await print(host, path, {
          file: {
            ...(asked ? { formats: asked } : {}),
            ...(options.name === undefined ? {} : { name: options.name }),
            ...(options.keep ? { keep: options.keep } : {}),
            quality: options.quality ?? null,
            longSidePixels: options.longSide ?? null,
            dngCamera: options.dngCamera,
          },
          replace: options.replace === true,
          artist: options.artist ?? null,
          copyright: options.copyright ?? null,
          caption: options.caption ?? null,
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
