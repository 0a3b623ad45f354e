import { type Command, Option } from 'commander'
import type { Host } from '#jobs/contract'
import type { CommonOptions, Machine, Outcome } from './session.ts'

/** The command under construction, and how a verb's action runs. */
export interface Verbs {
  readonly program: Command
  readonly machine: Machine
  run(options: CommonOptions, work: (host: Host) => Promise<Outcome>): Promise<void>
}

/** A verb with what every verb has: --json, --kernels, and one example that works on the demonstration outing. */
export function addVerb(
  { program }: Verbs,
  verb: { name: string; arguments: string; summary: string; example: string },
): Command {
  return program
    .command(`${verb.name} ${verb.arguments}`)
    .description(verb.summary)
    .option('--json', 'print one JSON document instead of words')
    .addOption(
      new Option('--kernels <kind>', 'how pixels are computed: simd, or plain (slower, for checking)')
        .choices(['simd', 'plain'])
        .default('simd'),
    )
    .addHelpText('after', `\nExample:\n  ${verb.example}\n`)
}
