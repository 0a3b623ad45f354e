import { type ChildProcess, spawn } from 'node:child_process'
import { dirname, join } from 'node:path'
import process from 'node:process'
import { fileURLToPath } from 'node:url'

const program = join(dirname(fileURLToPath(import.meta.url)), '../bin/duskwork')

export interface Served {
  readonly address: string
  readonly child: ChildProcess
  /** As Ctrl+C; resolves with the exit code. */
  stop(): Promise<number | null>
  /** As a power cut. */
  kill(): Promise<void>
}

/** The built program with its page open, as a shell would start it. */
export function serveProcess(args: readonly string[]): Promise<Served> {
  return new Promise((resolve, reject) => {
    const child = spawn(process.execPath, [program, 'serve', '--no-open', ...args], {
      stdio: ['ignore', 'pipe', 'pipe'],
    })
    const gone = new Promise<number | null>((done) => child.on('close', (code) => done(code)))
    let said = ''
    const hear = (data: Buffer) => {
      said += data.toString()
      const address = /http:\/\/127\.0\.0\.1:\d+\/[\w-]+\//.exec(said)?.[0]
      if (!address) return
      resolve({
        address,
        child,
        async stop() {
          child.kill('SIGINT')
          return gone
        },
        async kill() {
          child.kill('SIGKILL')
          await gone
        },
      })
    }
    child.stdout.on('data', hear)
    child.stderr.on('data', (data: Buffer) => {
      said += data.toString()
    })
    child.on('close', () => reject(new Error(`serve ended: ${said}`)))
  })
}
