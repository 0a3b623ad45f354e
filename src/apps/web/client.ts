import type {
  ChangeRequest,
  DeskState,
  JobRequest,
  JobState,
  LightDocument,
  OutingState,
  PageState,
  PictureState,
  PixelState,
  PlanMinute,
  PrintSettings,
  SaidFailure,
} from '#jobs/contract'
import { rootOf } from './address.ts'

export const root = rootOf(window.location.pathname)
const api = `${root}/api`

/** A failure that the server said, or that it cannot be reached. */
export class Refused extends Error {
  readonly failure: SaidFailure
  constructor(failure: SaidFailure) {
    super(failure.sentence)
    this.failure = failure
  }
}

export const unreachable: SaidFailure = {
  kind: 'io',
  code: 'unreachable',
  facts: {},
  sentence:
    'The program does not answer; start it again and open the address that it prints. What is on disk is whole.',
}

export const failureOf = (error: unknown): SaidFailure =>
  error instanceof Refused
    ? error.failure
    : {
        kind: 'fault',
        code: 'page',
        facts: { message: String(error) },
        sentence: 'A fault of the page; load it again.',
      }

async function ask(path: string, init?: RequestInit): Promise<Response> {
  let answer: Response
  try {
    answer = await fetch(`${api}${path}`, init)
  } catch (error) {
    if (init?.signal?.aborted) throw error
    throw new Refused(unreachable)
  }
  if (answer.ok) return answer
  const said = (await answer.json().catch(() => null)) as { failure?: SaidFailure } | null
  throw new Refused(
    said?.failure ?? {
      kind: 'fault',
      code: String(answer.status),
      facts: {},
      sentence: 'The program could not answer; load the page again.',
    },
  )
}

const get = async <T>(path: string, signal?: AbortSignal): Promise<T> =>
  (await (await ask(path, signal ? { signal } : undefined)).json()) as T

const send = async <T>(path: string, body: unknown, method = 'POST'): Promise<T> => {
  const init = { method, headers: { 'Content-Type': 'application/json' }, body: JSON.stringify(body) }
  return (await (await ask(path, init)).json()) as T
}

const of = (outing: string) => `/o/${encodeURIComponent(outing)}`
const queryOf = (given: Readonly<Record<string, string | null | undefined>>) => {
  const entries = Object.entries(given).filter((e): e is [string, string] => typeof e[1] === 'string')
  return entries.length === 0 ? '' : `?${new URLSearchParams(entries)}`
}

export interface Started {
  readonly job: JobState
  readonly outing: string
}

/** A picture that the server has: a frame, the camera's JPEG of it, a merge, a print. */
export interface PictureName {
  readonly kind: 'frame' | 'camera' | 'merged' | 'print'
  readonly name: string
  /** Changes when the picture does. */
  readonly stamp: string
}

const pictureOf = (outing: string, { kind, name }: PictureName) =>
  `${of(outing)}/picture/${kind}/${encodeURIComponent(name)}`

/** Every address of the server, typed by the same contracts that it is written with. */
export const client = {
  page: (signal?: AbortSignal) => get<PageState>('/state', signal),
  outing: (id: string, signal?: AbortSignal) => get<OutingState>(of(id), signal),
  change: (id: string, change: ChangeRequest) => send<OutingState>(`${of(id)}/change`, change),
  begin: (id: string | null, asked: object) =>
    id === null
      ? send<{ outing: string }>('/outings', asked)
      : send<OutingState>(`${of(id)}/begin`, asked).then(() => ({ outing: id })),
  start: (id: string | null, request: Readonly<{ job: JobRequest['job'] }> & Readonly<Record<string, unknown>>) =>
    send<Started>(id === null ? '/jobs' : `${of(id)}/jobs`, request),
  stop: (job: string) => send<JobState>(`/jobs/${job}/stop`, {}),
  dropWork: async (id: string) => (await (await ask(`${of(id)}/work`, { method: 'DELETE' })).json()) as OutingState,
  light: (id: string, date: string | null, signal?: AbortSignal) =>
    get<LightDocument>(`${of(id)}/light${queryOf({ date })}`, signal),
  minute: (id: string, asked: { viewpoint: string | null; utc: string; date: string | null }, signal?: AbortSignal) =>
    get<PlanMinute>(`${of(id)}/minute${queryOf(asked)}`, signal),
  upload: (id: string, file: File) =>
    ask(`${of(id)}/recon/${encodeURIComponent(file.name)}`, { method: 'PUT', body: file }),
  size: (id: string, picture: PictureName, signal?: AbortSignal) =>
    get<PictureState>(`${pictureOf(id, picture)}/size`, signal),
  pixel: (id: string, picture: PictureName, x: number, y: number, signal?: AbortSignal) =>
    get<PixelState>(`${pictureOf(id, picture)}/pixel${queryOf({ x: String(x), y: String(y) })}`, signal),
  desk: (id: string, bracket: string, signal?: AbortSignal) =>
    get<DeskState>(`${of(id)}/desk/${encodeURIComponent(bracket)}`, signal),
  preview: async (id: string, bracket: string, settings: PrintSettings): Promise<Blob> =>
    (
      await ask(`${of(id)}/desk/${encodeURIComponent(bracket)}/preview`, {
        method: 'POST',
        headers: { 'Content-Type': 'application/json' },
        body: JSON.stringify({ settings }),
      })
    ).blob(),
}

/** Addresses that pictures and frames of the page load by themselves. */
export const addressOf = {
  tile: (outing: string, picture: PictureName, level: number, column: number, row: number) =>
    `${api}${pictureOf(outing, picture)}/tile/${level}/${column}/${row}?v=${encodeURIComponent(picture.stamp)}`,
  small: (outing: string, picture: PictureName, side: number) =>
    `${api}${pictureOf(outing, picture)}/small?side=${side}&v=${encodeURIComponent(picture.stamp)}`,
  card: (outing: string, form: 'night' | 'paper', revision: string) =>
    `${api}${of(outing)}/card?form=${form}&v=${revision}`,
  sources: (outing: string, bracket: string, stamp: string) =>
    `${api}${of(outing)}/overlay/${encodeURIComponent(bracket)}/sources.png?v=${stamp}`,
  print: (outing: string, file: string) => `${api}${of(outing)}/print/${encodeURIComponent(file)}`,
  events: `${api}/events`,
}
