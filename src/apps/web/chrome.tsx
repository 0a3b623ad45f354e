import { type MouseEvent, type ReactNode, useEffect, useRef, useState } from 'react'
import { type JobState, type SaidFailure, sentenceForLeftOut } from '#jobs/contract'
import { type Address, type Screen, screens, writeAddress } from './address.ts'
import { root } from './client.ts'
import { type Form, forms, putForm, readForm } from './form.ts'
import { doneScreens } from './next-step.ts'
import { screenWords, useStore } from './store.tsx'
import { duration } from './words.ts'

/** A link of the page: opens in place, and in a new tab where that is asked for. */
export function Go({
  to,
  children,
  className,
  current,
}: {
  readonly to: Partial<Address>
  readonly children: ReactNode
  readonly className?: string
  readonly current?: boolean
}) {
  const { address, go } = useStore()
  const follow = (event: MouseEvent) => {
    if (event.metaKey || event.ctrlKey || event.shiftKey || event.button !== 0) return
    event.preventDefault()
    go(to)
  }
  return (
    <a
      className={className}
      href={writeAddress(root, { ...address, params: {}, ...to })}
      onClick={follow}
      aria-current={current ? 'page' : undefined}
    >
      {children}
    </a>
  )
}

/** The thread of the night: six stops, the present one lit like a lamp, those behind filled. */
export function Thread() {
  const { address, outing } = useStore()
  const done = outing ? doneScreens(outing) : new Set<Screen>()
  return (
    <header className="thread">
      <div className="place">
        <Go to={{ outing: null, screen: 'light' }} className="home-link">
          {outing ? outing.title : 'Duskwork'}
        </Go>
        {outing?.outing ? <small>{outing.outing.date}</small> : null}
      </div>
      {address.outing === null ? (
        <div className="stops-place" />
      ) : (
        <nav aria-label="The night">
          <ol>
            {screens.map((screen) => (
              <li
                key={screen}
                className={[screen === address.screen ? 'now' : '', done.has(screen) ? 'done' : ''].join(' ')}
              >
                <Go to={{ screen }} current={screen === address.screen}>
                  {screenWords[screen]}
                  {done.has(screen) ? <span className="hidden"> (done)</span> : null}
                </Go>
              </li>
            ))}
          </ol>
        </nav>
      )}
      <Tools />
    </header>
  )
}

function Tools() {
  const { outing, change } = useStore()
  const [form, setForm] = useState<Form>(readForm)
  const take = useRef(change)
  take.current = change
  useEffect(() => {
    const onKey = (event: KeyboardEvent) => {
      if (!(event.ctrlKey || event.metaKey) || event.altKey || event.key.toLowerCase() !== 'z') return
      const at = event.target
      if (at instanceof HTMLInputElement || at instanceof HTMLTextAreaElement) return
      event.preventDefault()
      void take.current({ change: event.shiftKey ? 'redo' : 'undo' })
    }
    window.addEventListener('keydown', onKey)
    return () => window.removeEventListener('keydown', onKey)
  }, [])
  return (
    <div className="tools">
      {outing?.undo ? (
        <button type="button" className="quiet-button" onClick={() => void change({ change: 'undo' })}>
          Undo <span className="tool-words">{outing.undo}</span>
        </button>
      ) : null}
      {outing?.redo ? (
        <button type="button" className="quiet-button" onClick={() => void change({ change: 'redo' })}>
          Redo
        </button>
      ) : null}
      <select
        className="form-choice"
        aria-label="The page is lit"
        value={form}
        onChange={(e) => {
          const chosen = forms.find((f) => f === e.target.value) ?? 'dark'
          putForm(chosen)
          setForm(chosen)
        }}
      >
        {forms.map((f) => (
          <option key={f} value={f}>
            {f} page
          </option>
        ))}
      </select>
    </div>
  )
}

/** The question of a screen, its answer in one sentence, and the one next step. */
export function Ask({
  question,
  answer,
  next,
}: {
  readonly question: string
  readonly answer: ReactNode
  readonly next?: ReactNode
}) {
  return (
    <div className="ask">
      <div>
        <h1>{question}</h1>
        <p className="answer">{answer}</p>
      </div>
      {next}
    </div>
  )
}

/** The only filled button of a screen: what it does, and how long or for what. */
export function Next({
  children,
  small,
  onClick,
  disabled,
}: {
  readonly children: ReactNode
  readonly small?: ReactNode
  readonly onClick: () => void
  readonly disabled?: boolean
}) {
  return (
    <button type="button" className="next" onClick={onClick} disabled={disabled}>
      {children}
      {small ? <small>{small}</small> : null}
    </button>
  )
}

/** A job under way: its stage, how far, how long still, and the way to stop it. */
export function Work({ job }: { readonly job: JobState | null }) {
  const { stop } = useStore()
  if (!job) return null
  const { progress, secondsLeft } = job
  const share = progress && progress.total > 0 ? progress.done / progress.total : null
  return (
    <section className="work panel" aria-label="Work under way">
      <div role="status">
        <strong>{jobWords[job.job]}</strong>{' '}
        {job.state === 'waiting' ? 'waits for its turn' : (progress?.stage ?? 'begins')}
        {progress && progress.total > 1 ? `, ${progress.done} of ${progress.total}` : ''}
        {secondsLeft !== null && secondsLeft > 1 ? `, about ${duration(secondsLeft)} of this left` : ''}
      </div>
      <progress aria-label={jobWords[job.job]} max={1} {...(share === null ? {} : { value: share })} />
      <button type="button" className="plain" onClick={() => stop(job.id)}>
        Stop
      </button>
    </section>
  )
}

const jobWords: Readonly<Record<JobState['job'], string>> = {
  demo: 'Demonstration',
  card: 'Copying the card',
  plan: 'Planning',
  recon: 'Recon photographs',
  group: 'Finding brackets',
  check: 'Measuring the frames',
  merge: 'Merging',
  print: 'Printing',
}

/** Something that did not work: one sentence with what to do; the facts behind a fold. */
export function Trouble({ failure, onClose }: { readonly failure: SaidFailure; readonly onClose?: () => void }) {
  const facts = Object.entries(failure.facts).filter(([, v]) => v !== null)
  return (
    <section className="trouble panel" role="alert">
      <p>{failure.sentence}</p>
      {facts.length > 0 ? (
        <details>
          <summary>Facts</summary>
          <dl className="pairs">
            {facts.map(([name, value]) => (
              <div key={name}>
                <dt>{name}</dt>
                <dd>{Array.isArray(value) ? value.join(' ') : String(value)}</dd>
              </div>
            ))}
          </dl>
        </details>
      ) : null}
      {onClose ? (
        <button type="button" className="plain" onClick={onClose}>
          Put away
        </button>
      ) : null}
    </section>
  )
}

export function LeftOut({
  entries,
}: {
  readonly entries: readonly { readonly what: string; readonly reason: string; readonly facts: object }[]
}) {
  const shown = entries.filter((l) => l.reason !== 'not-a-still')
  if (shown.length === 0) return null
  return (
    <details className="panel">
      <summary>Left out: {shown.length}</summary>
      <ul>
        {shown.map((l) => (
          <li key={`${l.what} ${l.reason}`}>{sentenceForLeftOut(l as Parameters<typeof sentenceForLeftOut>[0])}</li>
        ))}
      </ul>
    </details>
  )
}

/** Names and values, quietly. */
export function Pairs({
  rows,
  title,
}: {
  readonly title: string
  readonly rows: readonly (readonly [name: string, value: ReactNode, tone?: string])[]
}) {
  return (
    <section className="panel" aria-label={title}>
      <h2 className="small-title">{title}</h2>
      <dl className="pairs">
        {rows.map(([name, value, tone]) => (
          <div key={name}>
            <dt>{name}</dt>
            <dd className={tone}>{value}</dd>
          </div>
        ))}
      </dl>
    </section>
  )
}

/** Where the numbers come from. */
export function Sources({ lines }: { readonly lines: readonly string[] }) {
  return (
    <details className="sources">
      <summary>Where these numbers come from</summary>
      <ul>
        {lines.map((line) => (
          <li key={line}>{line}</li>
        ))}
      </ul>
    </details>
  )
}

/** A drawing that the reports draw too. Its text was escaped there; it holds no script, and the page allows none. */
export function Drawing({ svg, label }: { readonly svg: string; readonly label: string }) {
  return (
    // biome-ignore lint/a11y/noNoninteractiveTabindex: a region that scrolls sideways must be reachable by keyboard.
    <section className="drawing" aria-label={label} tabIndex={0}>
      {/* biome-ignore lint/security/noDangerouslySetInnerHtml: made by #apps/report, which escapes every word. */}
      <div dangerouslySetInnerHTML={{ __html: svg }} />
    </section>
  )
}

/** The width of an element as it is laid out. */
export function useWidth(start: number) {
  const ref = useRef<HTMLDivElement>(null)
  const [width, setWidth] = useState(start)
  useEffect(() => {
    const element = ref.current
    if (!element) return
    const watch = new ResizeObserver(([entry]) => {
      if (entry) setWidth(Math.max(260, Math.round(entry.contentRect.width)))
    })
    watch.observe(element)
    return () => watch.disconnect()
  }, [])
  return [ref, width] as const
}
