import { createContext, type ReactNode, useCallback, useContext, useEffect, useMemo, useRef, useState } from 'react'
import type { ChangeRequest, JobState, OutingState, PageEvent, PageState, SaidFailure } from '#jobs/contract'
import { type Address, readAddress, type Screen, writeAddress } from './address.ts'
import { addressOf, client, failureOf, root, unreachable } from './client.ts'

export interface Store {
  readonly address: Address
  readonly page: PageState | null
  readonly outing: OutingState | null
  readonly jobs: readonly JobState[]
  /** The last thing that went wrong, until it is put away. */
  readonly trouble: SaidFailure | null
  readonly connected: boolean
  go(to: Partial<Address>, how?: 'push' | 'replace'): void
  /** Changes parameters of the address where it is. */
  set(params: Readonly<Record<string, string | null>>): void
  change(request: ChangeRequest): Promise<boolean>
  start(request: Parameters<typeof client.start>[1], outing?: string | null): Promise<string | null>
  stop(job: string): void
  fail(error: unknown): void
  putAway(): void
  reload(): void
}

const Context = createContext<Store | null>(null)

export function useStore(): Store {
  const store = useContext(Context)
  if (!store) throw new Error('no store')
  return store
}

/** The store where an outing is open. */
export function useOuting(): Store & { readonly outing: OutingState } {
  const store = useStore()
  if (!store.outing) throw new Error('no outing')
  return store as Store & { readonly outing: OutingState }
}

const now = () => readAddress(window.location.pathname, window.location.search)

/** What the server says and what the address says, kept together and up to date. */
export function StoreProvider({ children }: { readonly children: ReactNode }) {
  const [address, setAddress] = useState(now)
  const [page, setPage] = useState<PageState | null>(null)
  const [outing, setOuting] = useState<OutingState | null>(null)
  const [jobs, setJobs] = useState<readonly JobState[]>([])
  const [trouble, setTrouble] = useState<SaidFailure | null>(null)
  const [connected, setConnected] = useState(true)
  const opened = useRef(address.outing)
  opened.current = address.outing

  const fail = useCallback((error: unknown) => {
    if (error instanceof DOMException && error.name === 'AbortError') return
    setTrouble(failureOf(error))
  }, [])

  const takeOuting = useCallback((state: OutingState) => {
    if (opened.current === state.id) setOuting(state)
  }, [])

  const reload = useCallback(() => {
    client.page().then((state) => {
      setPage(state)
      setJobs(state.jobs)
    }, fail)
    if (opened.current !== null) client.outing(opened.current).then(takeOuting, fail)
  }, [fail, takeOuting])

  useEffect(() => {
    const onBack = () => setAddress(now())
    window.addEventListener('popstate', onBack)
    return () => window.removeEventListener('popstate', onBack)
  }, [])

  useEffect(() => {
    client.page().then((state) => {
      setPage(state)
      setJobs(state.jobs)
    }, fail)
  }, [fail])

  useEffect(() => {
    if (address.outing === null) {
      setOuting(null)
      return
    }
    const stop = new AbortController()
    client.outing(address.outing, stop.signal).then(setOuting, fail)
    return () => stop.abort()
  }, [address.outing, fail])

  useEffect(() => {
    let lost = false
    const source = new EventSource(addressOf.events)
    source.onopen = () => {
      setConnected(true)
      setTrouble((t) => (t === unreachable || t?.code === 'unreachable' ? null : t))
      // What happened while nobody listened.
      if (lost) reload()
      lost = false
    }
    source.onerror = () => {
      lost = true
      setConnected(false)
    }
    const hear = (message: MessageEvent<string>) => {
      const event = JSON.parse(message.data) as PageEvent
      if (event.type === 'job') {
        setJobs((before) => [...before.filter((j) => j.id !== event.job.id), event.job])
        if (event.job.failure && event.job.state === 'failed') setTrouble(event.job.failure)
      } else if (event.type === 'changed' && event.outing === opened.current)
        client.outing(event.outing).then(takeOuting, fail)
    }
    for (const name of ['job', 'changed', 'page']) source.addEventListener(name, hear)
    return () => source.close()
  }, [reload, takeOuting, fail])

  const store = useMemo<Store>(() => {
    const go: Store['go'] = (to, how = 'push') => {
      const next: Address = { ...address, params: {}, ...to }
      const path = writeAddress(root, next)
      if (how === 'push') window.history.pushState(null, '', path)
      else window.history.replaceState(null, '', path)
      setAddress(next)
      if (how === 'push') window.scrollTo(0, 0)
    }
    return {
      address,
      page,
      outing: outing?.id === address.outing ? outing : null,
      jobs,
      trouble,
      connected,
      go,
      set(params) {
        // From the window's own address: several parts of a page may change theirs in one moment.
        const at = now()
        const merged: Record<string, string> = { ...at.params }
        for (const [key, value] of Object.entries(params)) {
          if (value === null) delete merged[key]
          else merged[key] = value
        }
        go({ ...at, params: merged }, 'replace')
      },
      async change(request) {
        if (address.outing === null) return false
        try {
          takeOuting(await client.change(address.outing, request))
          return true
        } catch (error) {
          fail(error)
          reload()
          return false
        }
      },
      async start(request, id = address.outing) {
        try {
          setTrouble(null)
          const started = await client.start(id, request)
          setJobs((before) => [...before.filter((j) => j.id !== started.job.id), started.job])
          return started.outing
        } catch (error) {
          fail(error)
          return null
        }
      },
      stop: (job) => void client.stop(job).catch(fail),
      fail,
      putAway: () => setTrouble(null),
      reload,
    }
  }, [address, page, outing, jobs, trouble, connected, fail, reload, takeOuting])

  return <Context.Provider value={store}>{children}</Context.Provider>
}

/** The job of a kind that waits or runs for the open outing. */
export function useActiveJob(...kinds: readonly JobState['job'][]): JobState | null {
  const { jobs, address } = useStore()
  return (
    jobs.find(
      (j) =>
        (j.state === 'running' || j.state === 'waiting') &&
        (kinds.length === 0 || kinds.includes(j.job)) &&
        (address.outing === null || j.outing === address.outing),
    ) ?? null
  )
}

/** What a question to the server gives, asked again when its key changes; the last answer stays until the next is there. */
export function useAsked<T>(
  key: string | null,
  question: (signal: AbortSignal) => Promise<T>,
): { readonly value: T | null; readonly failure: SaidFailure | null; readonly waiting: boolean } {
  const [state, setState] = useState<{ key: string; value: T | null; failure: SaidFailure | null } | null>(null)
  const last = useRef(question)
  last.current = question
  useEffect(() => {
    if (key === null) return
    const stop = new AbortController()
    last.current(stop.signal).then(
      (value) => setState({ key, value, failure: null }),
      (error: unknown) => {
        if (!stop.signal.aborted) setState({ key, value: null, failure: failureOf(error) })
      },
    )
    return () => stop.abort()
  }, [key])
  return {
    value: key === null ? null : (state?.value ?? null),
    failure: state?.key === key ? (state?.failure ?? null) : null,
    waiting: key !== null && state?.key !== key,
  }
}

export const screenWords: Readonly<Record<Screen, string>> = {
  light: 'Light',
  flight: 'Flight',
  exposure: 'Exposure',
  frames: 'Frames',
  merge: 'Merge',
  print: 'Print',
}
