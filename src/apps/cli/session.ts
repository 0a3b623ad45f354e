import { Failure } from '#core/base'
import { type Host, type Progress, sentenceFor } from '#jobs/contract'
import { exitCodeOf } from './exit.ts'
import { type ProgressTarget, progressReporter } from './progress.ts'

/** What the command line touches of the process; tests put their own behind it. */
export interface Terminal {
  readonly out: { write(text: string): unknown }
  readonly err: ProgressTarget
  /** Calls back on the user's wish to stop; returns how to stop listening. */
  onInterrupt(react: () => void): () => void
}

export interface HostOptions {
  readonly kernels: 'simd' | 'plain'
  onProgress(event: Progress): void
  isStopped(): boolean
}

/** All that the command line is run on. */
export interface Machine {
  readonly terminal: Terminal
  readonly version: string
  createHost(options: HostOptions): Host
  /** Temporary files that a failed run left standing. */
  removeUnfinishedFiles(): void
}

export interface CommonOptions {
  readonly json?: boolean
  readonly kernels: 'simd' | 'plain'
}

/** What a verb gives back: the document, the same in words, and how it went. */
export interface Outcome {
  /** Null where it was printed already, or nothing is to be. */
  readonly document: object | null
  readonly text: string
  readonly exitCode: number
}

/** Runs one verb: progress and stopping around it, its outcome or failure printed as asked. Returns the exit code. */
export async function runVerb(
  { terminal, createHost, removeUnfinishedFiles }: Machine,
  options: CommonOptions,
  work: (host: Host) => Promise<Outcome>,
): Promise<number> {
  const progress = progressReporter(terminal.err)
  let stopped = false
  const release = terminal.onInterrupt(() => {
    if (stopped) return
    stopped = true
    progress.clear()
    terminal.err.write('Stopping.\n')
  })
  try {
    const host = createHost({ kernels: options.kernels, onProgress: progress.report, isStopped: () => stopped })
    const outcome = await work(host)
    progress.clear()
    if (!options.json) terminal.out.write(outcome.text)
    else if (outcome.document) terminal.out.write(`${JSON.stringify(outcome.document, null, 2)}\n`)
    return outcome.exitCode
  } catch (error) {
    progress.clear()
    if (!(error instanceof Failure)) throw error
    removeUnfinishedFiles()
    printFailure(terminal, options.json ?? false, error)
    return exitCodeOf(error)
  } finally {
    release()
  }
}

export function printFailure(terminal: Terminal, json: boolean, failure: Failure): void {
  const sentence = failure.kind === 'aborted' ? 'Stopped as asked. What is on disk is whole.' : sentenceFor(failure)
  terminal.err.write(`duskwork: ${sentence}\n`)
  if (!json) return
  const document = { schema: 'failure/1', failure: { ...failure.toJSON(), sentence }, leftOut: [] }
  terminal.out.write(`${JSON.stringify(document, null, 2)}\n`)
}
