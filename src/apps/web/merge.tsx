import { useMemo } from 'react'
import { figure } from '#apps/report'
import type { MergedState, PictureState } from '#jobs/contract'
import { Ask, LeftOut, Next, Pairs } from './chrome.tsx'
import { addressOf, type PictureName } from './client.ts'
import { bracketsToMerge } from './next-step.ts'
import { useActiveJob, useOuting } from './store.tsx'
import { useLook } from './use-look.ts'
import { Viewer } from './viewer.tsx'
import { count, frameName, percent } from './words.ts'

const overlays = ['none', 'motion', 'sources'] as const
const overlayWords: Readonly<Record<(typeof overlays)[number], string>> = {
  none: 'nothing',
  motion: 'how the frames moved',
  sources: 'which frames it came from',
}

/** Is the merge clean? */
export function MergeScreen() {
  const { outing, address, set, start, go } = useOuting()
  const active = useActiveJob()
  const open = bracketsToMerge(outing)
  const chosen = outing.merged.find((m) => m.id === address.params['bracket']) ?? outing.merged[0]
  const next = active ? undefined : open.length > 0 ? (
    <Next small={count(open.length, 'bracket')} onClick={() => void start({ job: 'merge', brackets: open })}>
      {outing.merged.length > 0 ? 'Merge the rest' : 'Merge'}
    </Next>
  ) : chosen ? (
    <Next small={`bracket ${chosen.id}`} onClick={() => go({ screen: 'print', params: { bracket: chosen.id } })}>
      Choose the look
    </Next>
  ) : (
    <Next onClick={() => go({ screen: 'frames' })}>To the frames</Next>
  )
  return (
    <>
      <Ask
        question="Is the merge clean?"
        answer={<Answer chosen={chosen} open={open.length} busy={active?.job === 'merge'} />}
        next={next}
      />
      {outing.merged.length > 1 ? (
        <fieldset className="tabs pictures">
          <legend className="hidden">Bracket</legend>
          {outing.merged.map((m) => (
            <label key={m.id} className={m === chosen ? 'tab current' : 'tab'}>
              <input
                type="radio"
                name="bracket"
                checked={m === chosen}
                onChange={() => set({ bracket: m.id, look: null })}
              />
              {m.previewStamp ? (
                <img
                  src={addressOf.small(outing.id, { kind: 'merged', name: m.id, stamp: m.previewStamp }, 192)}
                  alt=""
                  width={96}
                  height={72}
                />
              ) : null}
              {m.id}
              {m.stale ? ' (regrouped since)' : ''}
            </label>
          ))}
        </fieldset>
      ) : null}
      {chosen ? <Merged key={chosen.id} merged={chosen} /> : null}
    </>
  )
}

function Answer({
  chosen,
  open,
  busy,
}: {
  readonly chosen: MergedState | undefined
  readonly open: number
  readonly busy: boolean
}) {
  if (!chosen)
    return (
      <>
        {busy
          ? 'The first bracket is on its way.'
          : open > 0
            ? `Nothing is merged yet; ${count(open, 'bracket')} could be.`
            : 'There is nothing to merge yet.'}
      </>
    )
  const { record } = chosen
  const used = record.frames.filter((f) => f.used)
  const residuals = used.flatMap((f) => (f.residualPixels === null ? [] : [f.residualPixels]))
  const worst = residuals.length > 0 ? Math.max(...residuals) : null
  return (
    <>
      Bracket {chosen.id}:{' '}
      <b>
        {used.length} of {record.frames.length}
      </b>{' '}
      frames in it
      {worst === null ? null : (
        <>
          , aligned to <i>{figure(worst, 2, 'px')}</i>
        </>
      )}
      ,{' '}
      {record.clippedShare === 0
        ? 'nothing'
        : record.clippedShare < 0.0001
          ? 'under 0.01 %'
          : `${(100 * record.clippedShare).toFixed(2)} %`}{' '}
      clipped
      {chosen.stale ? <em>; its frames were regrouped since</em> : null}.
    </>
  )
}

function Merged({ merged }: { readonly merged: MergedState }) {
  const { outing, address, set } = useOuting()
  const [look, setLook] = useLook()
  const { record } = merged
  const bracket = outing.group?.brackets.find((b) => b.id === merged.id)
  const beside = address.params['beside']
  const shown = overlays.find((o) => o === address.params['over']) ?? 'none'
  const best = outing.check?.brackets.find((b) => b.id === merged.id)?.best
  const single = bracket?.frames.find((f) => best?.endsWith(f.file))?.file ?? bracket?.reference
  const picture = useMemo<PictureName>(
    () => ({ kind: 'merged', name: merged.id, stamp: `${merged.stamp}-${lookStamp(outing.looks[merged.id])}` }),
    [merged.id, merged.stamp, outing.looks],
  )
  const singlePicture = useMemo<PictureName | null>(
    () => (single ? { kind: 'frame', name: single, stamp: '1' } : null),
    [single],
  )
  const sources = useMemo(() => {
    if (shown !== 'sources' || !merged.hasSources) return null
    const image = new Image()
    image.src = addressOf.sources(outing.id, merged.id, merged.stamp)
    return image
  }, [shown, merged, outing.id])
  const overlay = useMemo(() => {
    if (shown === 'motion')
      return (draw: CanvasRenderingContext2D, zoom: number, size: PictureState) =>
        drawMotion(draw, zoom, size, record.frames)
    if (sources)
      return (draw: CanvasRenderingContext2D, _: number, size: PictureState) => {
        if (!sources.complete) return
        draw.globalAlpha = 0.5
        draw.drawImage(sources, 0, 0, size.width, size.height)
      }
    return undefined
  }, [shown, sources, record])
  return (
    <>
      <section className="panel look" aria-label={`Merge ${merged.id}`}>
        <div className="row between">
          <fieldset className="tabs small">
            <legend className="inline-legend">over the picture</legend>
            {overlays
              .filter((o) => o !== 'sources' || merged.hasSources)
              .map((o) => (
                <label key={o} className={o === shown ? 'tab current' : 'tab'}>
                  <input
                    type="radio"
                    name="overlay"
                    checked={o === shown}
                    onChange={() => set({ over: o === 'none' ? null : o })}
                  />
                  {overlayWords[o]}
                </label>
              ))}
          </fieldset>
          <label className="inline check">
            <input
              type="checkbox"
              checked={beside === 'single'}
              onChange={(e) => set({ beside: e.target.checked ? 'single' : null })}
            />{' '}
            beside the best single frame
          </label>
        </div>
        <div className={beside && singlePicture ? 'pair' : ''}>
          {beside && singlePicture ? (
            <Viewer
              picture={singlePicture}
              label={`Single frame ${frameName(singlePicture.name)}`}
              look={look}
              onLook={setLook}
            >
              {frameName(singlePicture.name)}, alone
            </Viewer>
          ) : null}
          <Viewer
            picture={picture}
            label={`Merge of bracket ${merged.id}`}
            {...(merged.previewStamp
              ? {
                  placeholder: addressOf.small(
                    outing.id,
                    { kind: 'merged', name: merged.id, stamp: merged.previewStamp },
                    1024,
                  ),
                }
              : {})}
            look={look}
            onLook={setLook}
            {...(overlay ? { overlay } : {})}
          >
            {count(record.frames.filter((f) => f.used).length, record.source === 'raw' ? 'raw frame' : 'camera JPEG')},
            merged
          </Viewer>
        </div>
      </section>
      {/* biome-ignore lint/a11y/noNoninteractiveTabindex: a table that scrolls sideways must be reachable by keyboard. */}
      <section className="panel scroll" aria-label="Frames of the merge" tabIndex={0}>
        <table>
          <thead>
            <tr>
              <th scope="col">Frame</th>
              <th scope="col">Used</th>
              <th scope="col">Light, solved</th>
              <th scope="col">by the tags</th>
              <th scope="col">Moved</th>
              <th scope="col">Turned</th>
              <th scope="col">Left after aligning</th>
            </tr>
          </thead>
          <tbody>
            {record.frames.map((f) => (
              <tr key={f.file}>
                <th scope="row">{frameName(f.file)}</th>
                <td>
                  {f.used
                    ? f.reason
                      ? `yes; ${f.reason.replaceAll('-', ' ')}`
                      : 'yes'
                    : (f.reason ?? 'no').replaceAll('-', ' ')}
                </td>
                <td>{f.ratioStops === null ? '' : figure(f.ratioStops, 3, 'stops')}</td>
                <td>{f.nominalStops === null ? '' : figure(f.nominalStops, 2)}</td>
                <td>{f.shift ? `${figure(f.shift.x, 2)}, ${figure(f.shift.y, 2)} px` : ''}</td>
                <td>{f.rotationDegrees === null ? '' : `${figure(f.rotationDegrees, 3)}°`}</td>
                <td>{f.residualPixels === null ? '' : figure(f.residualPixels, 3, 'px')}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </section>
      <div className="grid three">
        <Pairs
          title="The merge"
          rows={[
            ['made by', record.madeBy],
            ['noise from', record.noise.source],
            [
              'colour',
              record.colour.correlatedColourTemperatureKelvin === null
                ? record.colour.basis
                : `${Math.round(record.colour.correlatedColourTemperatureKelvin)} K, ${record.colour.basis.replaceAll('-', ' ')}`,
            ],
            ['moving things', record.ghostShare === null ? 'not looked for' : percent(record.ghostShare)],
          ]}
        />
        <Pairs
          title="What it was made from"
          rows={record.inputs.map((i) => [frameName(i.file), i.sha256.slice(0, 12)])}
        />
      </div>
      <LeftOut entries={record.leftOut} />
    </>
  )
}

export const lookStamp = (look: unknown): string => (look === undefined ? 'own' : String(hash(JSON.stringify(look))))

/** A short name for a text: FNV-1a, 32 bits. Addresses only need to differ. */
function hash(text: string): number {
  let h = 0x811c9dc5
  for (let i = 0; i < text.length; i++) h = Math.imul(h ^ text.charCodeAt(i), 0x01000193)
  return h >>> 0
}

/** How far each frame's content stood from the reference's, from the middle, fifty times as long. */
function drawMotion(
  draw: CanvasRenderingContext2D,
  zoom: number,
  { width, height }: PictureState,
  frames: MergedState['record']['frames'],
): void {
  draw.lineWidth = 2 / zoom
  draw.font = `${14 / zoom}px system-ui`
  draw.strokeStyle = '#ffb45c'
  draw.fillStyle = '#ffb45c'
  for (const f of frames) {
    if (!f.shift) continue
    const [x, y] = [width / 2 + 50 * f.shift.x, height / 2 + 50 * f.shift.y]
    draw.beginPath()
    draw.moveTo(width / 2, height / 2)
    draw.lineTo(x, y)
    draw.stroke()
    draw.beginPath()
    draw.arc(x, y, 5 / zoom, 0, 2 * Math.PI)
    draw.fill()
    draw.fillText(frameName(f.file), x + 8 / zoom, y - 8 / zoom)
  }
}
