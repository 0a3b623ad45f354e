import { type DragEvent, type KeyboardEvent, memo, useCallback, useMemo, useState } from 'react'
import { renderBracketSpans } from '#apps/report'
import { shutter } from '#jobs/contract'
import { Ask, Drawing, LeftOut, Next, Pairs } from './chrome.tsx'
import { addressOf } from './client.ts'
import { FrameLook } from './frame-look.tsx'
import { ASSUMED_STOPS, type JudgedBracket, judgedBrackets, spansOf, tallyOf } from './judged.ts'
import { bracketsToMerge } from './next-step.ts'
import { useActiveJob, useOuting } from './store.tsx'
import { count, fileName, frameName, percent } from './words.ts'

/** Is it on the card, and is it sharp? */
export function FramesScreen() {
  const { outing, address, set, start, go, change } = useOuting()
  const active = useActiveJob()
  const judged = useMemo(() => judgedBrackets(outing), [outing])
  const { group } = outing
  const looked = address.params['frame']
  const regroup = useMemo<Regroup>(
    () => ({
      join: (parts) => void change({ change: 'join', parts: [...parts] }),
      split: (bracket, before) => void change({ change: 'split', bracket, before: fileName(before) }),
      open: (frame) => set({ frame, look: null }),
    }),
    [change, set],
  )
  if (!group)
    return (
      <>
        <Ask
          question="Is it on the card, and is it sharp?"
          answer={
            outing.originals > 0
              ? active
                ? 'The card is being read…'
                : 'There are files, but no frames that can be read among them.'
              : active?.job === 'card' || active?.job === 'demo'
                ? 'The frames are on their way.'
                : 'There are no frames in this outing yet.'
          }
          next={
            active ? undefined : (
              <Next
                small="copied with proof, never changed"
                onClick={() => go({ outing: null, screen: 'light', params: { with: 'card' } })}
              >
                Use my card
              </Next>
            )
          }
        />
        {outing.copy ? <CopyState /> : null}
      </>
    )
  const tally = tallyOf(judged)
  const open = bracketsToMerge(outing)
  const refly = new Set(judged.filter((j) => j.verdict?.verdict === 're-fly').map((j) => j.bracket.id))
  const toMerge = open.filter((id) => !refly.has(id))
  return (
    <>
      <Ask
        question="Is it on the card, and is it sharp?"
        answer={<Answer tally={tally} brackets={judged.length} singles={group.singles.length} />}
        next={
          active ? undefined : judged.length > 0 && tally.unjudged === judged.length && open.length > 0 ? (
            <Next small="sharpness, clipping, noise" onClick={() => void start({ job: 'check' })}>
              Measure the frames
            </Next>
          ) : toMerge.length > 0 ? (
            <Next
              small={count(toMerge.length, 'bracket')}
              onClick={async () => {
                if (await start({ job: 'merge', brackets: toMerge })) go({ screen: 'merge' })
              }}
            >
              Merge
            </Next>
          ) : judged.length > 0 ? (
            <Next small="all are merged" onClick={() => go({ screen: 'merge' })}>
              Look at the merges
            </Next>
          ) : undefined
        }
      />
      {looked ? <FrameLook judged={judged} singles={group.singles} name={looked} onSplit={regroup.split} /> : null}
      {tally.unjudged > 0 && !active && !(tally.unjudged === judged.length && open.length > 0) ? (
        <div className="row">
          <button type="button" className="plain" onClick={() => void start({ job: 'check' })}>
            Measure sharpness, clipping and noise
          </button>
        </div>
      ) : null}
      <section className="panel brackets" aria-label="Brackets">
        <p className="quiet keys-hint">
          Drag a bracket or a frame onto another bracket to join them. On a frame: <kbd>Enter</kbd> looks at it,{' '}
          <kbd>S</kbd> splits before it, <kbd>J</kbd> joins its bracket with the next.
        </p>
        <ul>
          {judged.map((j, i) => (
            <BracketRow
              key={j.bracket.id}
              judged={j}
              outing={outing.id}
              next={followerOf(judged, j) ?? null}
              regroup={regroup}
              first={i < 8}
            />
          ))}
        </ul>
      </section>
      {group.singles.length > 0 ? (
        <section className="panel" aria-label="Single frames">
          <h2 className="small-title">Single frames</h2>
          <ul className="frame-strip">
            {group.singles.map((f) => (
              <li key={f.file}>
                <FrameButton
                  outing={outing.id}
                  file={f.file}
                  words={`${frameName(f.file)}, ${shutter(f.exposureSeconds)}`}
                  onOpen={regroup.open}
                  drag={frameName(f.file)}
                />
              </li>
            ))}
          </ul>
        </section>
      ) : null}
      <div className="grid three">
        <Pairs title="The card" rows={cardRows(outing)} />
        <Pairs
          title="Pictures"
          rows={group.modes.map((m) => [`${m.width} × ${m.height} ${m.source}`, count(m.frames, 'frame')])}
        />
        {group.clock ? (
          <Pairs
            title="The camera’s clock"
            rows={[
              ['off by', group.clock.offsetSeconds === null ? 'not known' : `${group.clock.offsetSeconds} s`],
              ['from', group.clock.basis],
            ]}
          />
        ) : null}
      </div>
      <LeftOut entries={[...group.leftOut, ...(outing.check?.leftOut ?? [])]} />
    </>
  )
}

interface Regroup {
  join(parts: readonly string[]): void
  split(bracket: string, before: string): void
  open(frame: string): void
}

/** The bracket that was taken after this one: numbers are in the order of time. */
const followerOf = (judged: readonly JudgedBracket[], of: JudgedBracket): string | undefined =>
  judged
    .map((j) => j.bracket.id)
    .sort()
    .find((id) => id > of.bracket.id)

function cardRows({ copy, originals }: ReturnType<typeof useOuting>['outing']): (readonly [string, string, string?])[] {
  const rows: (readonly [string, string, string?])[] = [['originals', count(originals, 'file')]]
  if (!copy) return rows
  return [
    ...rows,
    ['copied from', copy.card],
    copy.safeToWipe
      ? ['the card', 'safe to wipe: every file is here, with the same SHA-256', 'good']
      : ['the card', `keep it: ${copy.failed > 0 ? count(copy.failed, 'file') : 'some files'} not proven here`, 'bad'],
  ]
}

function CopyState() {
  const { outing } = useOuting()
  return <Pairs title="The card" rows={cardRows(outing)} />
}

function Answer({
  tally,
  brackets,
  singles,
}: {
  readonly tally: ReturnType<typeof tallyOf>
  readonly brackets: number
  readonly singles: number
}) {
  if (brackets === 0) return <>No brackets: {count(singles, 'single frame')}.</>
  if (tally.unjudged === brackets)
    return (
      <>
        <b>{count(brackets, 'bracket')}</b> whole{singles > 0 ? <>, {count(singles, 'single frame')}</> : null}; not
        measured yet.
      </>
    )
  return (
    <>
      {count(brackets, 'bracket')}: <span className="keep">{tally.keep} to keep</span>
      {tally.doubtful > 0 ? (
        <>
          , <span className="doubt">{tally.doubtful} doubtful</span>
        </>
      ) : null}
      {tally.refly > 0 ? (
        <>
          , <span className="refly">{tally.refly} to re-fly</span>
        </>
      ) : null}
      {tally.unjudged > 0 ? <>, {tally.unjudged} not measured</> : null}.
    </>
  )
}

const DRAG = 'application/x-duskwork-part'

const BracketRow = memo(function BracketRow({
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

const FrameButton = memo(function FrameButton({
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
