import { useMemo } from 'react'
import { figure } from '#apps/report'
import { shutter } from '#jobs/contract'
import { addressOf } from './client.ts'
import type { Frame, JudgedBracket } from './judged.ts'
import { useOuting } from './store.tsx'
import { useLook } from './use-look.ts'
import { Viewer } from './viewer.tsx'
import { count, frameName, percent } from './words.ts'

/** One frame large, beside another of its bracket if wished; both at the same place and zoom. */
export function FrameLook({
  judged,
  singles,
  name,
  onSplit,
}: {
  readonly judged: readonly JudgedBracket[]
  readonly singles: readonly Frame[]
  readonly name: string
  onSplit(bracket: string, before: string): void
}) {
  const { address, outing, set } = useOuting()
  const [look, setLook] = useLook()
  const own = judged.find((j) => j.frames.some((f) => f.frame.file === name))
  const frames = own ? own.frames : singles.map((frame) => ({ frame, measured: null }))
  const at = frames.findIndex((f) => f.frame.file === name)
  const found = frames[at]
  const beside = address.params['beside']
  const smear = found?.measured?.smear ?? null
  const arrow = useMemo(
    () =>
      smear && smear.directionDegrees !== null && smear.pixels > 0.3
        ? (draw: CanvasRenderingContext2D, zoom: number, size: { width: number; height: number }) =>
            drawSmear(draw, zoom, size, smear.pixels, smear.directionDegrees!)
        : undefined,
    [smear],
  )
  if (!found) return null
  const { frame, measured } = found
  const step = (by: number) => {
    const next = frames[at + by]
    if (next) set({ frame: next.frame.file })
  }
  const pictureOf = (file: string) => ({ kind: 'frame' as const, name: file, stamp: '1' })
  return (
    <section className="panel look" aria-label={`Frame ${frameName(name)}`}>
      <div className="row between">
        <div className="row">
          <button type="button" className="plain" onClick={() => step(-1)} disabled={at <= 0}>
            ← before
          </button>
          <strong>{frameName(name)}</strong>
          <button type="button" className="plain" onClick={() => step(1)} disabled={at >= frames.length - 1}>
            after →
          </button>
        </div>
        <div className="row">
          <label className="inline">
            beside{' '}
            <select
              value={beside ?? ''}
              onChange={(e) => set({ beside: e.target.value === '' ? null : e.target.value })}
            >
              <option value="">none</option>
              {frames
                .filter((f) => f.frame.file !== name)
                .map((f) => (
                  <option key={f.frame.file} value={f.frame.file}>
                    {frameName(f.frame.file)} {shutter(f.frame.exposureSeconds)}
                  </option>
                ))}
            </select>
          </label>
          {own && at > 0 ? (
            <button type="button" className="plain" onClick={() => onSplit(own.bracket.id, name)}>
              Split before it
            </button>
          ) : null}
          <button type="button" className="plain" onClick={() => set({ frame: null, look: null, beside: null })}>
            Close
          </button>
        </div>
      </div>
      <div className={beside ? 'pair' : ''}>
        <Viewer
          picture={pictureOf(name)}
          label={`Frame ${frameName(name)}`}
          placeholder={addressOf.small(outing.id, pictureOf(name), 192)}
          look={look}
          onLook={setLook}
          {...(arrow ? { overlay: arrow } : {})}
        >
          {shutter(frame.exposureSeconds)}, ISO {frame.iso ?? 'unknown'}
          {measured ? (
            <>
              ; smear {smear ? figure(smear.pixels, 1, 'px') : 'not measured'}
              {measured.focus ? `; blur ${figure(measured.focus.blurPixels, 1, 'px')}` : ''}; clipped green{' '}
              {percent(measured.clipped.g)}
              {measured.flags.length > 0 ? `; ${measured.flags.join(', ')}` : ''}
            </>
          ) : null}
        </Viewer>
        {beside ? (
          <Viewer picture={pictureOf(beside)} label={`Frame ${frameName(beside)}`} look={look} onLook={setLook}>
            {frameName(beside)}, at the same place and zoom
          </Viewer>
        ) : null}
      </div>
      <p className="hidden" role="status">
        {at + 1} of {count(frames.length, 'frame')}
      </p>
    </section>
  )
}

/** The line that motion draws, twenty times as long so that it can be seen. */
function drawSmear(
  draw: CanvasRenderingContext2D,
  zoom: number,
  { width, height }: { width: number; height: number },
  pixels: number,
  directionDegrees: number,
): void {
  const length = (20 * pixels) / 2
  const [dx, dy] = [
    Math.cos((directionDegrees * Math.PI) / 180) * length,
    Math.sin((directionDegrees * Math.PI) / 180) * length,
  ]
  draw.strokeStyle = '#ffd66b'
  draw.lineWidth = 2 / zoom
  for (const [sx, sy] of [
    [0.2, 0.2],
    [0.8, 0.2],
    [0.5, 0.5],
    [0.2, 0.8],
    [0.8, 0.8],
  ] as const) {
    draw.beginPath()
    draw.moveTo(sx * width - dx, sy * height - dy)
    draw.lineTo(sx * width + dx, sy * height + dy)
    draw.stroke()
  }
}
