import { Command, CommanderError } from 'commander'
import { Failure } from '#core/base'
import { exit } from './exit.ts'
import { type Machine, printFailure, runVerb } from './session.ts'
import type { Verbs } from './verb.ts'
import { addCheck } from './verbs/check.ts'
import { addCopy } from './verbs/copy.ts'
import { addDemo } from './verbs/demo.ts'
import { addGroup } from './verbs/group.ts'
import { addInspect } from './verbs/inspect.ts'
import { addLight } from './verbs/light.ts'
import { addMerge } from './verbs/merge.ts'
import { addPlan } from './verbs/plan.ts'
import { addPrint } from './verbs/print.ts'
import { addServe } from './verbs/serve.ts'

/** Runs a command line (without program and script); returns the exit code. Defects of ours are thrown. */
export async function run(argv: readonly string[], machine: Machine): Promise<number> {
  const { terminal } = machine
  let exitCode: number = exit.done
  const program = new Command('duskwork')
    .description('Still photographs from a small camera drone in twilight and at night: bracket in, picture out.')
    .version(machine.version, '--version', 'print the version')
    .helpOption('-h, --help', 'print this help')
    .helpCommand(false)
    .showHelpAfterError('Add --help to see what is possible.')
    .exitOverride()
    .configureOutput({
      writeOut: (text) => terminal.out.write(text),
      writeErr: (text) => terminal.err.write(text),
      outputError: (text, write) => write(text.replace(/^error: /, 'duskwork: ')),
    })
  const verbs: Verbs = {
    program,
    machine,
    async run(options, work) {
      exitCode = await runVerb(machine, options, work)
    },
  }
  const all = [addDemo, addLight, addPlan, addCopy, addInspect, addGroup, addCheck, addMerge, addPrint, addServe]
  for (const add of all) add(verbs)
  if (argv.length === 0) {
    program.outputHelp({ error: true })
    return exit.usage
  }
  try {
    await program.parseAsync(argv, { from: 'user' })
    return exitCode
  } catch (error) {
    if (!(error instanceof CommanderError)) throw error
    // Help and version leave by the same way as errors, with exit code 0.
    if (error.exitCode === 0) return exit.done
    if (argv.includes('--json')) {
      const reason = error.message.replace(/^error: /, '')
      printFailure({ ...terminal, err: { write() {} } }, true, new Failure('usage', 'command-line', { reason }))
    }
    return exit.usage
  }
}
