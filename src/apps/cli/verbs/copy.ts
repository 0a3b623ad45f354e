import type { CopyDocument } from '#jobs/contract'
import { exit } from '../exit.ts'
import { leftOutText } from '../left-out.ts'
import type { Outcome } from '../session.ts'
import { addVerb, type Verbs } from '../verb.ts'
import { bytes, count, duration } from '../words.ts'

export function addCopy(verbs: Verbs): void {
  addVerb(verbs, {
    name: 'copy',
    arguments: '<card> <outing>',
    summary: 'copy a card into an outing, verify the copy, and say whether the card is safe to wipe',
    example: 'duskwork copy demo-outing/originals my-outing',
  })
    .option('--also <folder>', 'a further outing to copy into in the same pass; may be given again', collect, [])
    .action(async (card: string, outing: string, options) =>
      verbs.run(options, async (host): Promise<Outcome> => {
        const { copy } = await import('#jobs')
        const document = await copy(host, card, outing, { also: options.also })
        return { document, text: copyText(document), exitCode: exitCodeFor(document) }
      }),
    )
}

const collect = (folder: string, before: readonly string[]): string[] => [...before, folder]

/** What systems leave on a card is listed; nothing fell short because of it. */
function exitCodeFor({ copied, recognised, safeToWipe, leftOut }: CopyDocument): number {
  if (safeToWipe) return leftOut.every((l) => l.reason === 'system-file') ? exit.done : exit.fellShort
  return copied + recognised === 0 ? exit.input : exit.fellShort
}

export function copyText(document: CopyDocument): string {
  const { files, copied, recognised, failed, targets, safeToWipe, leftOut } = document
  const system = leftOut.filter((l) => l.reason === 'system-file')
  const others = leftOut.filter((l) => l.reason !== 'system-file')
  const lines = [
    `${count(files, 'file')} on the card: ${copied} copied, ${recognised} there already; ` +
      `${bytes(document.bytes)} in ${duration(document.seconds)}.`,
    ...targets.map((t) => `  ${t.path}: ${t.verified} of ${files} verified, ${readBackWords[t.readBack]}`),
  ]
  for (const { renamed } of targets)
    for (const { file, copy } of renamed) lines.push(`  ${file} is there as ${copy}: its name was taken`)
  if (failed.length > 0) lines.push('', 'Failed:', ...failed.map((f) => `  ${f.sentence}`))
  lines.push(...leftOutText(others))
  if (system.length > 0)
    lines.push('', `Not copied, because an operating system left it: ${system.map((l) => l.what).join(', ')}.`)
  lines.push('', safeToWipe ? safeWords(document) : keepWords(document))
  return `${lines.join('\n')}\n`
}

const readBackWords = {
  disk: 'read back from the disk',
  system: 'read back through the system, which may have answered from memory',
}

function safeWords({ targets }: CopyDocument): string {
  const copies = targets.length === 1 ? 'in the copy' : `in each of ${targets.length} copies`
  const line = `Safe to wipe: every file of the card is ${copies}, with the same SHA-256.`
  return targets.some((t) => t.onCardsDisk)
    ? `${line}\nBut a copy lies on the same disk as the card's files: formatting that disk would take both.`
    : line
}

function keepWords({ files, copied, recognised, failed, leftOut }: CopyDocument): string {
  const missing = files - copied - recognised
  const empty = leftOut.filter((l) => l.reason === 'empty-on-card').length
  const reasons = [
    missing > 0 ? `${count(missing, 'file')} of ${files} ${missing === 1 ? 'is' : 'are'} not in every copy` : null,
    empty > 0 ? `${count(empty, 'picture')} ${empty === 1 ? 'is' : 'are'} empty on the card` : null,
    missing === 0 && failed.length > 0 ? 'not everything on it could be looked at and recorded' : null,
  ].filter((r) => r !== null)
  return `Keep the card: ${reasons.join(', and ')}. Run the same command again to go on.`
}
