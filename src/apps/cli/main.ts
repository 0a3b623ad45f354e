import { readFileSync } from 'node:fs'
import process from 'node:process'
import { createHost, removeUnfinishedFiles } from '#apps/io'
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

// The reader of our output may close early (`| head`): that is no failure of ours, and nobody is left to tell.
process.stdout.on('error', (error: NodeJS.ErrnoException) => {
  if (error.code !== 'EPIPE') throw error
  removeUnfinishedFiles()
  process.exit(exit.done)
})

const { version } = JSON.parse(readFileSync(new URL('../../../package.json', import.meta.url), 'utf8')) as {
  version: string
}
process.exitCode = await run(process.argv.slice(2), {
  terminal,
  version,
  createHost: (options) => createHost({ ...options, version }),
  removeUnfinishedFiles,
})
