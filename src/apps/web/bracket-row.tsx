import { type DragEvent, type KeyboardEvent, memo, useCallback, useMemo, useState } from 'react'
import { renderBracketSpans } from '#apps/report'
import { shutter } from '#jobs/contract'
import { Drawing } from './chrome.tsx'
import { addressOf } from './client.ts'
import { ASSUMED_STOPS, type JudgedBracket, spansOf } from './judged.ts'
import { count, frameName, percent } from './words.ts'

/** What can be asked of a grouping from its frames. */
export interface Regroup {
  join(parts: readonly string[]): void
  split(bracket: string, before: string): void
  open(frame: string): void
}

const DRAG = 'application/x-duskwork-part'

export const BracketRow = memo(function BracketRow({
  judged,
  outing,
  next,
  regroup,
  first,
}: {
  readonly judged: JudgedBracket
  readonly outing: string
  readonly next: string | null
  readonly regroup: Regroup
  readonly first: boolean
}) {
  const { bracket, verdict, doubts } = judged
  const [over, setOver] = useState(false)
  const spans = useMemo(() => spansOf(judged), [judged])
  const svg = useMemo(() => renderBracketSpans(spans.drawing), [spans])
  const drop = (event: DragEvent) => {
    event.preventDefault()
    setOver(false)
    const part = event.dataTransfer.getData(DRAG)
    if (part !== '' && part !== bracket.id) regroup.join([bracket.id, part])
  }
  const onKey = (event: KeyboardEvent) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return
    const file = (event.target as HTMLElement).closest<HTMLElement>('[data-frame]')?.dataset['frame']
    if (file === undefined) return
    if (event.key.toLowerCase() === 's' && file !== bracket.frames[0]?.file) regroup.split(bracket.id, file)
    else if (event.key.toLowerCase() === 'j' && next !== null) regroup.join([bracket.id, next])
    else return
    event.preventDefault()
  }
  return (
    <li
      className={over ? 'bracket over' : 'bracket'}
      data-first={first}
      data-bracket={bracket.id}
      onDragOver={(e) => {
        if (!e.dataTransfer.types.includes(DRAG)) return
        e.preventDefault()
        setOver(true)
      }}
      onDragLeave={() => setOver(false)}
      onDrop={drop}
      onKeyDown={onKey}
    >
      <div className="bracket-words">
        <h2 draggable onDragStart={(e) => e.dataTransfer.setData(DRAG, bracket.id)}>
          <span className={`chip ${verdict?.verdict ?? 'none'}`}>{verdict?.verdict ?? 'not measured'}</span> bracket{' '}
          {bracket.id}
        </h2>
        <p className="quiet">
          {count(bracket.frames.length, 'frame')},{' '}
          {bracket.evidence.find((e) => e.endsWith(' by you')) ?? sureness(bracket.confidence)}
          {next === null ? null : (
            <button type="button" className="quiet-button" onClick={() => regroup.join([bracket.id, next])}>
              Join with {next}
            </button>
          )}
        </p>
        {doubts.map((d) => (
          <p key={d.question} className="doubt">
            {d.question} <span className="quiet">({d.evidence})</span>
          </p>
        ))}
        {verdict ? (
          <ul className="reasons">
            {verdict.reasons.map((r) => (
              <li key={r.rule}>{r.words}</li>
            ))}
            {verdict.advice.map((a) => (
              <li key={a} className="quiet">
                {a}
              </li>
            ))}
          </ul>
        ) : null}
      </div>
      <div className="bracket-spans night">
        <Drawing svg={svg} label={`What bracket ${bracket.id} holds`} />
        {spans.measured ? null : (
          <p className="why">From shutter times; {ASSUMED_STOPS} stops a frame are assumed until they are measured.</p>
        )}
      </div>
      <ul className="frame-strip">
        {bracket.frames.map((f, i) => (
          <li key={f.file}>
            {i > 0 ? (
              <button
                type="button"
                className="split"
                title={`Split before ${frameName(f.file)}`}
                onClick={() => regroup.split(bracket.id, f.file)}
              >
                <span className="hidden">Split before {frameName(f.file)}</span>
                <span aria-hidden="true">|</span>
              </button>
            ) : null}
            <FrameButton
              outing={outing}
              file={f.file}
              words={`${frameName(f.file)}, ${shutter(f.exposureSeconds)}${f.file === bracket.reference ? ', reference' : ''}`}
              onOpen={regroup.open}
              drag={frameName(f.file)}
            />
          </li>
        ))}
      </ul>
    </li>
  )
})

const sureness = (confidence: number) => (confidence >= 0.9 ? 'sure' : `${percent(confidence)} sure`)

export const FrameButton = memo(function FrameButton({
  outing,
  file,
  words,
  drag,
  onOpen,
}: {
  readonly outing: string
  readonly file: string
  readonly words: string
  readonly drag: string
  onOpen(frame: string): void
}) {
  const [failed, setFailed] = useState(false)
  const onError = useCallback(() => setFailed(true), [])
  return (
    <button
      type="button"
      className="frame"
      data-frame={file}
      draggable
      onDragStart={(e) => {
        e.stopPropagation()
        e.dataTransfer.setData(DRAG, drag)
      }}
      onClick={() => onOpen(file)}
    >
      {failed ? (
        <span className="frame-picture">cannot be read</span>
      ) : (
        <img
          src={addressOf.small(outing, { kind: 'frame', name: file, stamp: '1' }, 192)}
          className="frame-picture"
          alt=""
          loading="lazy"
          decoding="async"
          width={96}
          height={72}
          onError={onError}
        />
      )}
      <span>{words}</span>
    </button>
  )
})
