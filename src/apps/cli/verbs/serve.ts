import process from 'node:process'
import { InvalidArgumentError } from 'commander'
import { exit } from '../exit.ts'
import type { Outcome } from '../session.ts'
import { addVerb, type Verbs } from '../verb.ts'

export function addServe(verbs: Verbs): void {
  addVerb(verbs, {
    name: 'serve',
    arguments: '[outing]',
    summary: 'open the local page, which takes a night from light to print in the browser, on this machine alone',
    example: 'duskwork serve demo-outing',
  })
    .option('--port <number>', 'the port on the loopback address (default: any free one)', portOf, 0)
    .option('--card <folder>', 'a folder to offer as a card; may be given again', collect, [])
    .option('--home <folder>', 'where outings begun on the page go (default: beside the outing, else here)', '.')
    .option('--no-open', 'only print the address')
    .action(async (outing: string | undefined, options) =>
      verbs.run(options, async (host): Promise<Outcome> => {
        const { servePage } = await import('../serve-page.ts')
        await servePage(verbs.machine, host, {
          outing: outing ?? null,
          home: options.home,
          cards: options.card,
          port: options.port,
          kernels: options.kernels,
          json: options.json === true,
          open: options.open && process.stdout.isTTY === true,
        })
        return { document: null, text: '', exitCode: exit.done }
      }),
    )
}

const collect = (folder: string, before: readonly string[]): string[] => [...before, folder]

function portOf(text: string): number {
  const port = Number(text)
  if (!/^\d+$/.test(text) || port > 65_535) throw new InvalidArgumentError('It is a number from 0 to 65535.')
  return port
}
