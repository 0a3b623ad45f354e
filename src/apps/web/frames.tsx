import { useMemo } from 'react'
import { shutter } from '#jobs/contract'
import { BracketRow, FrameButton, type Regroup } from './bracket-row.tsx'
import { Ask, LeftOut, Next, Pairs } from './chrome.tsx'
import { CopyState } from './copy-state.tsx'
import { FrameLook } from './frame-look.tsx'
import { type JudgedBracket, judgedBrackets, tallyOf } from './judged.ts'
import { bracketsToMerge } from './next-step.ts'
import { useActiveJob, useOuting } from './store.tsx'
import { count, fileName, frameName } from './words.ts'

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
  // What is to be flown again is merged only where there is nothing better.
  const good = open.filter((id) => !refly.has(id))
  const toMerge = good.length > 0 ? good : open
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
        <CopyState />
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

/** The bracket that was taken after this one: numbers are in the order of time. */
const followerOf = (judged: readonly JudgedBracket[], of: JudgedBracket): string | undefined =>
  judged
    .map((j) => j.bracket.id)
    .sort()
    .find((id) => id > of.bracket.id)

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
