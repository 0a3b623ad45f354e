import { readFileSync } from 'node:fs'
import process from 'node:process'
import { createHost, ioFailure, removeUnfinishedFiles } from '#apps/io'
import { sentenceFor } from '#jobs/contract'
import { exit } from './exit.ts'
import { run } from './run.ts'
import type { Terminal } from './session.ts'

/** A step in progress may take this long before a stop is forced. */
const GRACE_MILLISECONDS = 3000

const terminal: Terminal = {
  out: process.stdout,
  err: process.stderr,
  onInterrupt(react) {
    let asked = false
    const onSignal = () => {
      if (asked) leave()
      asked = true
      react()
      setTimeout(leave, GRACE_MILLISECONDS).unref()
    }
    for (const signal of ['SIGINT', 'SIGTERM'] as const) process.on(signal, onSignal)
    return () => {
      for (const signal of ['SIGINT', 'SIGTERM'] as const) process.off(signal, onSignal)
    }
  },
}

/** Without waiting for the work: temporary files go, finished files stay. */
function leave(): never {
  removeUnfinishedFiles()
  process.stderr.write('duskwork: Stopped. What is on disk is whole.\n')
  process.exit(exit.interrupted)
}

// The reader of our output may close early (`| head`): that is no failure of ours, and nobody is left to tell. Output that
// goes to a file can meet a full disk, and then what was asked for is not there.
process.stdout.on('error', (error: NodeJS.ErrnoException) => {
  removeUnfinishedFiles()
  if (error.code === 'EPIPE') process.exit(exit.done)
  const failure = ioFailure(error, 'standard output', 'write-failed')
  process.stderr.write(`duskwork: ${sentenceFor(failure)}\n`)
  process.exit(exit.input)
})
// Progress and warnings that nobody reads are no reason to stop.
process.stderr.on('error', () => {})

const { version } = JSON.parse(readFileSync(new URL('../../../package.json', import.meta.url), 'utf8')) as {
  version: string
}
try {
  process.exitCode = await run(process.argv.slice(2), {
    terminal,
    version,
    createHost: (options) => createHost({ ...options, version }),
    removeUnfinishedFiles,
  })
} catch (error) {
  // None of the named failures: a fault of ours, which must not pass for "done, but something was left out".
  removeUnfinishedFiles()
  const what = error instanceof Error ? (error.stack ?? error.message) : String(error)
  process.stderr.write(
    `duskwork: a fault of the program, not of your files; please report it with these lines:\n${what}\n`,
  )
  process.exit(exit.fault)
}
