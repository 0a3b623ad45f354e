import type { MergeDocument } from '#jobs/contract'
import { exitCodeFor } from '../exit.ts'
import { leftOutText } from '../left-out.ts'
import type { Outcome } from '../session.ts'
import { addVerb, type Verbs } from '../verb.ts'
import { count, duration, signed } from '../words.ts'

export function addMerge(verbs: Verbs): void {
  addVerb(verbs, {
    name: 'merge',
    arguments: '<paths...>',
    summary: 'merge the brackets of an outing or folder, or the given frames as one bracket, into radiance images',
    example: 'duskwork merge demo-outing',
  })
    .option('--out <folder>', 'where the radiance images go (default: "brackets" beside the frames)')
    .option('--only <ids...>', 'only these brackets, by number')
    .option('--print', 'make a JPEG print of each in the same go, in "prints" beside "brackets"')
    .option('--replace', 'with --print: write over prints that are there and hold something else')
    .action(async (paths: string[], options) =>
      verbs.run(options, async (host): Promise<Outcome> => {
        const { merge } = await import('#jobs')
        const document = await merge(host, paths, {
          ...(options.out ? { out: options.out } : {}),
          ...(options.only ? { brackets: options.only } : {}),
          ...(options.print ? { print: { replace: options.replace === true } } : {}),
        })
        return { document, text: mergeText(document), exitCode: exitCodeFor(document.leftOut) }
      }),
    )
}

type Bracket = MergeDocument['brackets'][number]

export function mergeText(document: MergeDocument): string {
  const lines = document.brackets.flatMap(bracketLines)
  if (document.prints.length > 0) lines.push('Prints:', ...document.prints.map((p) => `  ${p.file}`))
  else lines.pop()
  return `${[...lines, ...leftOutText(document.leftOut)].join('\n')}\n`
}

function bracketLines(b: Bracket): string[] {
  const used = b.frames.filter((f) => f.used)
  const farthest = Math.max(...used.map((f) => (f.shift ? Math.hypot(f.shift.x, f.shift.y) : 0)))
  const turned = Math.max(...used.map((f) => Math.abs(f.rotationDegrees ?? 0)))
  const residuals = used.map((f) => f.residualPixels).filter((r): r is number => r !== null && r > 0)
  const left = residuals.length > 0 ? `, at most ${signed(Math.max(...residuals), 2)} pixels left after aligning` : ''
  const lines = [
    `${b.id}  ${count(used.length, b.source === 'raw' ? 'raw frame' : 'camera JPEG')}, ${b.width} × ${b.height} pixels, ${duration(b.seconds)}`,
    `  moved up to ${signed(farthest, 1)} pixels and ${signed(turned, 3)}° between frames${left}`,
    `  ${clippedWords(b.clippedShare)} clipped in every frame`,
  ]
  if (b.source === 'rendered')
    lines.push('  made from finished pictures through a solved response: less exact than from raw')
  return [...lines, `  ${b.radiance}`, `  ${b.preview}`, '']
}

function clippedWords(share: number): string {
  if (share === 0) return 'no pixel is'
  return share < 0.0001 ? 'less than 0.01 % of the pixels are' : `${(100 * share).toFixed(2)} % of the pixels are`
}
