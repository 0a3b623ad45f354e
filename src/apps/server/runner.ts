import { randomBytes } from 'node:crypto'
import { Failure, overLimit } from '#core/base'
import type { Host, JobName, JobState, Progress } from '#jobs/contract'
import { said } from './failures.ts'

/** One job works at a time: each takes all threads and most of the memory. More than this many do not wait. */
const MOST_WAITING = 16
/** Ended jobs that are still told about. */
const MOST_ENDED = 20

export interface Work {
  readonly job: JobName
  readonly outing: string
  run(host: Host): Promise<unknown>
  /** Whatever the end was, after `run`. */
  ended?(state: JobState): Promise<void>
}

interface Entry {
  state: JobState
  readonly work: Work
  stop: boolean
  startedAt: number
  stageAt: number
}

/** Jobs one after the other, with progress, time left, and the wish to stop. */
export function createRunner(options: {
  createHost(asked: { onProgress(event: Progress): void; isStopped(): boolean }): Host
  tell(job: JobState): void
  fault(error: unknown): void
}) {
  const entries: Entry[] = []
  let running: Promise<void> | null = null

  const change = (entry: Entry, part: Partial<JobState>) => {
    entry.state = { ...entry.state, ...part }
    options.tell(entry.state)
  }

  async function work(entry: Entry): Promise<void> {
    entry.startedAt = performance.now()
    const seconds = () => (performance.now() - entry.startedAt) / 1000
    let toldAt = 0
    change(entry, { state: 'running' })
    const host = options.createHost({
      isStopped: () => entry.stop,
      onProgress(progress) {
        const now = performance.now()
        if (progress.stage !== entry.state.progress?.stage) entry.stageAt = now
        const share = progress.total > 0 ? progress.done / progress.total : 0
        const stage = (now - entry.stageAt) / 1000
        const secondsLeft = share > 0.05 && share < 1 ? stage * (1 / share - 1) : null
        const part = { progress, seconds: seconds(), secondsLeft }
        // Ten times a second is as often as anybody can see.
        if (now - toldAt < 100 && progress.stage === entry.state.progress?.stage)
          entry.state = { ...entry.state, ...part }
        else {
          toldAt = now
          change(entry, part)
        }
      },
    })
    let end: Partial<JobState>
    try {
      end = { state: 'done', document: await entry.work.run(host), secondsLeft: 0 }
    } catch (error) {
      if (!(error instanceof Failure)) options.fault(error)
      const stopped = error instanceof Failure && error.kind === 'aborted'
      end = { state: stopped ? 'stopped' : 'failed', failure: said(error), secondsLeft: null }
    }
    const state = { ...entry.state, ...end, seconds: seconds() }
    await entry.work.ended?.(state).catch(options.fault)
    change(entry, state)
  }

  async function loop(): Promise<void> {
    for (;;) {
      const next = entries.find((e) => e.state.state === 'waiting')
      if (!next) break
      await work(next)
      const ended = entries.filter((e) => e.state.state !== 'waiting' && e.state.state !== 'running')
      for (const old of ended.slice(0, Math.max(0, ended.length - MOST_ENDED))) entries.splice(entries.indexOf(old), 1)
    }
    running = null
  }

  return {
    /** @throws Failure limit "job-waits" */
    start(given: Work): JobState {
      // The same thing asked twice, as two windows may, is one thing.
      if (entries.filter((e) => e.state.state === 'waiting').length >= MOST_WAITING)
        throw overLimit('job-waits', { limit: MOST_WAITING })
      const state: JobState = {
        id: randomBytes(6).toString('hex'),
        job: given.job,
        outing: given.outing,
        state: 'waiting',
        progress: null,
        seconds: 0,
        secondsLeft: null,
        failure: null,
        document: null,
      }
      entries.push({ state, work: given, stop: false, startedAt: 0, stageAt: 0 })
      options.tell(state)
      running ??= loop()
      return state
    },
    /** What is waiting or running of a kind on an outing. */
    active: (job: JobName, outing: string): JobState | undefined =>
      entries.find(
        (e) =>
          e.state.job === job &&
          e.state.outing === outing &&
          (e.state.state === 'waiting' || e.state.state === 'running'),
      )?.state,
    stop(id: string): JobState {
      const entry = entries.find((e) => e.state.id === id)
      if (!entry) throw new Failure('usage', 'no-such-job', { wanted: id })
      entry.stop = true
      if (entry.state.state === 'waiting') change(entry, { state: 'stopped' })
      return entry.state
    },
    states: (): JobState[] => entries.map((e) => e.state),
    get busy() {
      return running !== null
    },
    async stopAll() {
      for (const e of entries) {
        e.stop = true
        if (e.state.state === 'waiting') change(e, { state: 'stopped' })
      }
      await running
    },
  }
}

export type Runner = ReturnType<typeof createRunner>
