import { type FormEvent, useCallback, useEffect, useMemo, useRef, useState } from 'react'
import type { DeskState, MergedState, PrintDocument, PrintRecord, PrintSettings } from '#jobs/contract'
import { Ask, LeftOut, Next, Trouble } from './chrome.tsx'
import { addressOf, client, type PictureName } from './client.ts'
import { type LadderRung, lighter, rungsOf, sceneOf, settingsWith } from './ladder.ts'
import { LadderDrawing } from './ladder-drawing.tsx'
import { LivePicture, useLive } from './live-picture.tsx'
import { lookStamp } from './merge.tsx'
import { useActiveJob, useAsked, useOuting } from './store.tsx'
import { useLook } from './use-look.ts'
import { Viewer } from './viewer.tsx'
import { bytes, count, frameName } from './words.ts'

/** How should it look? */
export function PrintScreen() {
  const { outing, address, go } = useOuting()
  const active = useActiveJob()
  const chosen = outing.merged.find((m) => m.id === address.params['bracket']) ?? outing.merged[0]
  if (!chosen)
    return (
      <Ask
        question="How should it look?"
        answer={
          active?.job === 'merge'
            ? 'The first bracket is being merged.'
            : 'There is nothing to print yet: a print is made from a merge.'
        }
        next={active ? undefined : <Next onClick={() => go({ screen: 'frames' })}>To the frames</Next>}
      />
    )
  return <OnDesk key={chosen.id} merged={chosen} />
}

function Brackets({ merged }: { readonly merged: MergedState }) {
  const { outing, set } = useOuting()
  if (outing.merged.length < 2) return null
  return (
    <fieldset className="tabs">
      <legend className="hidden">Bracket</legend>
      {outing.merged.map((m) => (
        <label key={m.id} className={m.id === merged.id ? 'tab current' : 'tab'}>
          <input
            type="radio"
            name="bracket"
            checked={m.id === merged.id}
            onChange={() => set({ bracket: m.id, look: null })}
          />
          bracket {m.id}
          {outing.looks[m.id] ? ', by hand' : ''}
        </label>
      ))}
    </fieldset>
  )
}

function OnDesk({ merged }: { readonly merged: MergedState }) {
  const { outing } = useOuting()
  const asked = useAsked(`${outing.id} ${merged.id} ${merged.stamp}`, (s) => client.desk(outing.id, merged.id, s))
  if (asked.failure) return <Trouble failure={asked.failure} />
  if (!asked.value)
    return (
      <>
        <Ask question="How should it look?" answer={`Bracket ${merged.id} is being laid out.`} />
        <Brackets merged={merged} />
        <p className="waiting" role="status">
          Reading the radiance image…
        </p>
      </>
    )
  return <Printing merged={merged} desk={asked.value} />
}

const views = ['live', 'close', 'single', 'camera'] as const
const viewWords: Readonly<Record<(typeof views)[number], string>> = {
  live: 'the picture',
  close: 'at 100 %',
  single: 'beside the best single frame',
  camera: 'beside the camera’s JPEG',
}

function Printing({ merged, desk }: { readonly merged: MergedState; readonly desk: DeskState }) {
  const { outing, address, set, change, fail } = useOuting()
  const saved: PrintSettings = outing.looks[merged.id] ?? desk.automatic
  const scene = useMemo(() => sceneOf(desk), [desk])
  const [settings, setSettings] = useState(saved)
  const [rungs, setRungs] = useState<readonly LadderRung[]>(() => rungsOf(saved, scene))
  /** Where the present hold began: the curve is carried along from there. */
  const base = useRef({ settings: saved, rungs })
  const own = useRef(JSON.stringify(saved))
  const picture = useMemo<PictureName>(
    () => ({ kind: 'merged', name: merged.id, stamp: `${merged.stamp}-${lookStamp(outing.looks[merged.id])}` }),
    [merged, outing.looks],
  )
  const live = useLive(outing.id, picture, fail)
  const view = views.find((v) => v === address.params['view']) ?? 'live'
  const { show } = live

  // What is saved elsewhere (an undo, another window) is shown here.
  useEffect(() => {
    const text = JSON.stringify(saved)
    if (text === own.current) return
    own.current = text
    const next = rungsOf(saved, scene)
    base.current = { settings: saved, rungs: next }
    setSettings(saved)
    setRungs(next)
    show(saved, performance.now())
  }, [saved, scene, show])

  // biome-ignore lint/correctness/useExhaustiveDependencies: drawn once for each way of looking; moves draw by themselves.
  useEffect(() => {
    if (view === 'live') show(settings, performance.now())
  }, [view, show])

  const timer = useRef<ReturnType<typeof setTimeout> | undefined>(undefined)
  useEffect(() => () => clearTimeout(timer.current), [])
  const take = useCallback(
    (next: PrintSettings, settled: boolean, startedAt: number) => {
      setSettings(next)
      show(next, startedAt)
      if (!settled) return
      clearTimeout(timer.current)
      timer.current = setTimeout(() => {
        own.current = JSON.stringify(next)
        void change({ change: 'look', bracket: merged.id, settings: next })
      }, 250)
    },
    [change, merged.id, show],
  )
  const onMove = useCallback(
    (to: LadderRung[], settled: boolean, startedAt: number) => {
      const next = settingsWith(base.current.settings, base.current.rungs, to)
      setRungs(to)
      take(next, settled, startedAt)
      if (settled) base.current = { settings: next, rungs: to }
    },
    [take],
  )
  const put = (next: PrintSettings, startedAt: number) => {
    const placed = rungsOf(
      next,
      rungs.map((r) => r.sceneStops),
    )
    base.current = { settings: next, rungs: placed }
    setRungs(placed)
    take(next, true, startedAt)
  }
  const zone = (name: string) => rungs.find((r) => r.name === name)!.zone.toFixed(1)
  return (
    <>
      <Ask
        question="How should it look?"
        answer={
          <>
            Night stays night: ground at zone <b>{zone('ground')}</b>, the lit at <i>{zone('lit')}</i>, lamps at{' '}
            {zone('lamps')}.
          </>
        }
        next={<WriteFiles merged={merged} />}
      />
      <Brackets merged={merged} />
      <div className="grid print">
        <section className="panel night" aria-label="Tone ladder">
          <LadderDrawing desk={desk} rungs={rungs} onMove={onMove} />
          <fieldset className="row bare" aria-label="The whole picture">
            <button type="button" className="plain" onClick={(e) => put(lighter(settings, -0.1), e.timeStamp)}>
              darker
            </button>
            <button type="button" className="plain" onClick={(e) => put(lighter(settings, 0.1), e.timeStamp)}>
              lighter
            </button>
            <label className="inline">
              range taken in{' '}
              <input
                type="range"
                min={0}
                max={0.8}
                step={0.05}
                value={settings.baseCompression}
                onChange={(e) => put({ ...settings, baseCompression: Number(e.target.value) }, e.timeStamp)}
              />
            </label>
            {outing.looks[merged.id] ? (
              <button
                type="button"
                className="plain"
                onClick={() => {
                  clearTimeout(timer.current)
                  void change({ change: 'look', bracket: merged.id, settings: null })
                }}
              >
                As the picture itself asks
              </button>
            ) : null}
          </fieldset>
        </section>
        <section className="panel look" aria-label="The picture">
          <fieldset className="tabs small">
            <legend className="hidden">How to look at it</legend>
            {views
              .filter((v) => v !== 'camera' || cameraOf(outing, merged.id) !== null)
              .map((v) => (
                <label key={v} className={v === view ? 'tab current' : 'tab'}>
                  <input
                    type="radio"
                    name="view"
                    checked={v === view}
                    onChange={() => set({ view: v === 'live' ? null : v })}
                  />
                  {viewWords[v]}
                </label>
              ))}
          </fieldset>
          {view === 'live' ? (
            <LivePicture live={live} desk={desk} label={`Print of bracket ${merged.id}`} />
          ) : (
            <Closely merged={merged} picture={picture} view={view} />
          )}
        </section>
      </div>
      <Files merged={merged} />
    </>
  )
}

type Outing = ReturnType<typeof useOuting>['outing']

const bracketOf = (outing: Outing, id: string) => outing.group?.brackets.find((b) => b.id === id)

function singleOf(outing: Outing, id: string): string | null {
  const bracket = bracketOf(outing, id)
  const best = outing.check?.brackets.find((b) => b.id === id)?.best
  return bracket?.frames.find((f) => best?.endsWith(f.file))?.file ?? bracket?.reference ?? null
}

/** The frame whose companion stands for the camera's own finish. */
function cameraOf(outing: Outing, id: string): string | null {
  const bracket = bracketOf(outing, id)
  const reference = bracket?.frames.find((f) => f.file === bracket.reference)
  return reference?.companion ? reference.file : null
}

function Closely({
  merged,
  picture,
  view,
}: {
  readonly merged: MergedState
  readonly picture: PictureName
  readonly view: 'close' | 'single' | 'camera'
}) {
  const { outing } = useOuting()
  const [look, setLook] = useLook()
  const file = view === 'camera' ? cameraOf(outing, merged.id) : view === 'single' ? singleOf(outing, merged.id) : null
  const other = useMemo<PictureName | null>(
    () => (file === null ? null : { kind: view === 'camera' ? 'camera' : 'frame', name: file, stamp: '1' }),
    [file, view],
  )
  return (
    <div className={other ? 'pair' : ''}>
      {other ? (
        <Viewer
          picture={other}
          label={view === 'camera' ? 'The camera’s JPEG' : `Single frame ${frameName(other.name)}`}
          look={look}
          onLook={setLook}
        >
          {view === 'camera' ? 'as the camera finished it' : `${frameName(other.name)}, alone`}
        </Viewer>
      ) : null}
      <Viewer picture={picture} label={`Print of bracket ${merged.id}`} look={look} onLook={setLook}>
        the print
      </Viewer>
    </div>
  )
}

type Format = PrintRecord['settings']['file']['format']
const formatWords: Readonly<Record<Format, string>> = {
  jpeg: 'JPEG, 8 bits, for everywhere',
  'hdr-jpeg': 'JPEG with a gain map, for bright screens',
  avif: 'AVIF, small',
  tiff: 'TIFF, 16 bits, for paper',
  png: 'PNG, without loss',
  exr: 'OpenEXR, linear light',
  dng: 'linear DNG, for later work',
}

const chosenFormats = (text: string | undefined): Format[] => {
  const named = (text ?? 'jpeg').split('_')
  const found = (Object.keys(formatWords) as Format[]).filter((f) => named.includes(f))
  return found.length > 0 ? found : ['jpeg']
}

function WriteFiles({ merged }: { readonly merged: MergedState }) {
  const { address, start } = useOuting()
  const busy = useActiveJob('print')
  const formats = chosenFormats(address.params['formats'])
  return (
    <Next
      disabled={busy !== null}
      small={formats.map((f) => formatWords[f].split(',')[0]).join(', ')}
      onClick={() =>
        void start({
          job: 'print',
          brackets: [merged.id],
          formats,
          artist: kept('artist'),
          copyright: kept('copyright'),
        })
      }
    >
      {busy ? 'Writing…' : 'Write the files'}
    </Next>
  )
}

const kept = (name: 'artist' | 'copyright'): string | null => window.localStorage.getItem(`duskwork-${name}`)

/** What is written, what never is, and the proof. */
function Files({ merged }: { readonly merged: MergedState }) {
  const { outing, address, set, jobs } = useOuting()
  const formats = chosenFormats(address.params['formats'])
  const prints = outing.prints.filter((p) => p.file.split('.')[0] === merged.id)
  const lastJob = jobs.filter((j) => j.job === 'print' && j.outing === outing.id && j.state === 'done').at(-1)
  const leftOut = (lastJob?.document as PrintDocument | undefined)?.leftOut ?? []
  const toggle = (format: Format, on: boolean) => {
    const next = on ? [...formats, format] : formats.filter((f) => f !== format)
    set({ formats: next.length === 0 ? null : next.join('_') })
  }
  const onName = (name: 'artist' | 'copyright') => (e: FormEvent<HTMLInputElement>) =>
    window.localStorage.setItem(`duskwork-${name}`, e.currentTarget.value)
  const [last] = prints
  return (
    <div className="grid three">
      <section className="panel" aria-label="Files to write">
        <h2 className="small-title">Files to write</h2>
        {(Object.keys(formatWords) as Format[]).map((f) => (
          <label key={f} className="choice">
            <input type="checkbox" checked={formats.includes(f)} onChange={(e) => toggle(f, e.target.checked)} />
            {formatWords[f]}
          </label>
        ))}
        <label>
          made by
          <input
            type="text"
            maxLength={120}
            defaultValue={kept('artist') ?? ''}
            onInput={onName('artist')}
            autoComplete="name"
          />
        </label>
        <label>
          copyright
          <input
            type="text"
            maxLength={200}
            defaultValue={kept('copyright') ?? ''}
            onInput={onName('copyright')}
            autoComplete="off"
          />
        </label>
      </section>
      <section className="panel" aria-label="What the files say">
        <h2 className="small-title">What the files say of you</h2>
        {last ? (
          <>
            <p>Kept: {last.record.kept.map((k) => k.replaceAll('-', ' ')).join(', ')}.</p>
            <p>Never written: {last.record.removed.map((k) => k.replaceAll('-', ' ')).join(', ')}.</p>
          </>
        ) : (
          <p>Exposure and time; never a position, a home point, a serial number, a maker’s note or a thumbnail.</p>
        )}
      </section>
      <section className="panel" aria-label="Prints">
        <h2 className="small-title">{count(prints.length, 'print')} of this bracket</h2>
        <ul className="prints">
          {prints.map((p) => (
            <li key={p.file}>
              <a href={addressOf.print(outing.id, p.file)} download={p.file}>
                {p.file}
              </a>{' '}
              {p.record.print.width} × {p.record.print.height}, {bytes(p.bytes)}
              <span className={p.record.proof.ok ? 'keep' : 'refly'}>
                {p.record.proof.ok ? '; read back by another decoder, and right' : '; read back and NOT right'}
              </span>
            </li>
          ))}
        </ul>
        <p className="quiet path">{outing.folder}/prints</p>
        <LeftOut entries={leftOut} />
      </section>
    </div>
  )
}
