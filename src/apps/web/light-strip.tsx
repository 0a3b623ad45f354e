import { type KeyboardEvent, type PointerEvent, useId } from 'react'
import { clockTicks, evTicks, scaleOf, stagger } from '#apps/report'
import type { LightDocument } from '#jobs/contract'
import { useWidth } from './chrome.tsx'
import { clockOf, ev } from './words.ts'

type Minute = LightDocument['minutes'][number]
type Balance = LightDocument['balance'][number]

export interface StripProps {
  readonly light: LightDocument
  readonly subject: Balance | undefined
  /** Below it the aircraft cannot hold still long enough. */
  readonly tooDarkEv100: number | null
  readonly sensingUtc: string | null
  /** Index of the chosen minute. */
  readonly chosen: number
  onChoose(index: number): void
}

const LOWEST = -6
const HIGHEST = 15
const clamp = (v: number, low: number, high: number) => Math.min(high, Math.max(low, v))
const time = (utc: string) => Date.parse(utc)

/** Sky at a level as a colour: day blue above EV 12, night below −3. */
function skyColour(level: number): string {
  const share = clamp((level + 3) / 15, 0, 1)
  const mix = (night: number, day: number) => Math.round(night + share * (day - night))
  return `rgb(${mix(10, 52)} ${mix(14, 92)} ${mix(24, 160)})`
}

const eventWords: Readonly<Record<string, string>> = {
  sunset: 'sunset',
  'civil-dusk': 'civil dusk',
  'nautical-dusk': 'nautical',
  'astronomical-dusk': 'astronomical',
}

/** The minutes that the strip shows: from an hour before sunset until the sky has its night. */
export function shownMinutes(light: LightDocument): readonly [from: number, to: number] {
  const { minutes, events } = light
  const at = (name: string) => {
    const utc = events.find((e) => e.name === name)?.utc
    return utc ? minutes.findIndex((m) => m.utc >= utc) : -1
  }
  const sunset = at('sunset')
  const night = ['astronomical-dusk', 'nautical-dusk', 'civil-dusk'].map(at).find((i) => i > 0) ?? -1
  const from = sunset < 0 ? 0 : Math.max(0, sunset - 45)
  const to = night < 0 ? minutes.length - 1 : Math.min(minutes.length - 1, night + 20)
  return to - from > 30 ? [from, to] : [0, minutes.length - 1]
}

/**
 * The evening as a strip: level against clock, sky and unlit ground as curves, the lit subject as a band, the balance as a
 * lamp, and one line that the hand or the arrow keys move from minute to minute.
 */
export function LightStrip({ light, subject, tooDarkEv100, sensingUtc, chosen, onChoose }: StripProps) {
  const [ref, width] = useWidth(1200)
  const id = useId()
  const [from, to] = shownMinutes(light)
  const minutes = light.minutes.slice(from, to + 1)
  const narrow = width < 620
  const height = narrow ? 330 : 400
  const plot = { left: 40, top: narrow ? 74 : 62, right: width - (narrow ? 12 : 168), bottom: height - 34 }
  const first = minutes[0]!
  const last = minutes.at(-1)!
  const levels = minutes.flatMap((m) => [m.skyEv100, m.ev100])
  const low = clamp(Math.floor(Math.min(...levels, subject?.subjectEv100 ?? 3) - 1), LOWEST, HIGHEST - 2)
  const high = clamp(Math.ceil(Math.max(...levels)) + 1, low + 2, HIGHEST)
  const x = scaleOf(time(first.utc), time(last.utc), plot.left, plot.right)
  const y = (level: number) => scaleOf(low, high, plot.bottom, plot.top)(clamp(level, low, high))
  // Curves leave the drawing at its edge; nothing turns a corner there.
  const free = scaleOf(low, high, plot.bottom, plot.top)
  const curve = (of: (m: Minute) => number) =>
    minutes.map((m) => `${x(time(m.utc)).toFixed(1)},${free(of(m)).toFixed(1)}`).join(' ')
  const marks = light.events
    .flatMap((e) =>
      eventWords[e.name] && e.utc && e.local
        ? [{ words: `${eventWords[e.name]} ${clockOf(e.local)}`, at: x(time(e.utc)) }]
        : [],
    )
    .filter((m) => m.at >= plot.left && m.at <= plot.right)
  const rows = stagger(
    marks.map((m) => ({ at: m.at, width: 7.2 * m.words.length + 10 })),
    3,
  )
  const at = clamp(chosen, from, to)
  const minute = light.minutes[at]!
  const choose = (event: PointerEvent<HTMLElement>) => {
    const box = event.currentTarget.getBoundingClientRect()
    const share = (event.clientX - box.left - plot.left) / (plot.right - plot.left)
    onChoose(clamp(Math.round(from + share * (to - from)), from, to))
  }
  const onKey = (event: KeyboardEvent) => {
    const steps: Record<string, number> = {
      ArrowLeft: -1,
      ArrowDown: -1,
      ArrowRight: 1,
      ArrowUp: 1,
      PageDown: -10,
      PageUp: 10,
      Home: from - at,
      End: to - at,
    }
    const step = steps[event.key]
    if (step === undefined) return
    event.preventDefault()
    onChoose(clamp(at + step, from, to))
  }
  const balanceAt = subject?.utc ? x(time(subject.utc)) : null
  const stopMinutes = (subject?.minutesPerStop ?? 4) * 60_000
  const shadeLeft = subject?.utc ? clamp(x(time(subject.utc) - stopMinutes), plot.left, plot.right) : 0
  const shadeRight = subject?.utc ? clamp(x(time(subject.utc) + stopMinutes), plot.left, plot.right) : 0
  const blind = sensingUtc ? clamp(x(time(sensingUtc)), plot.left, plot.right) : null
  const cx = x(time(minute.utc))
  const subjectTop = subject ? y(subject.subjectEv100) : 0
  const darkTop = tooDarkEv100 === null ? null : y(tooDarkEv100)
  // Words at the right edge keep off each other.
  const darkWords =
    darkTop === null ? 0 : subject && Math.abs(darkTop - subjectTop) < 40 ? Math.max(darkTop, subjectTop + 40) : darkTop
  return (
    <div ref={ref} className="strip-frame night">
      <div
        className="strip-slider"
        role="slider"
        tabIndex={0}
        aria-label="The minute of the evening"
        aria-valuemin={from}
        aria-valuemax={to}
        aria-valuenow={at}
        aria-valuetext={`${clockOf(minute.local)}: sky EV ${ev(minute.skyEv100)}, ground EV ${ev(minute.ev100)}, sun ${ev(minute.sunAltitude)}°`}
        onKeyDown={onKey}
        onPointerDown={(e) => {
          e.currentTarget.setPointerCapture(e.pointerId)
          choose(e)
        }}
        onPointerMove={(e) => {
          if (e.buttons === 1) choose(e)
        }}
      >
        <svg className="strip plot" width={width} height={height} viewBox={`0 0 ${width} ${height}`} aria-hidden="true">
          <defs>
            <linearGradient id={id}>
              {minutes
                .filter((_, i) => i % Math.max(1, Math.floor(minutes.length / 24)) === 0)
                .map((m) => (
                  <stop
                    key={m.utc}
                    offset={(x(time(m.utc)) - plot.left) / (plot.right - plot.left)}
                    stopColor={skyColour(m.skyEv100)}
                  />
                ))}
            </linearGradient>
            <clipPath id={`${id}-plot`}>
              <rect x={plot.left} y={plot.top} width={plot.right - plot.left} height={plot.bottom - plot.top} rx={8} />
            </clipPath>
          </defs>
          <rect
            x={plot.left}
            y={plot.top}
            width={plot.right - plot.left}
            height={plot.bottom - plot.top}
            rx={8}
            fill={`url(#${id})`}
          />
          {evTicks(low, high).map((level) => (
            <g key={level}>
              <line className="grid-line" x1={plot.left} x2={plot.right} y1={y(level)} y2={y(level)} />
              <text className="tick" x={plot.left - 8} y={y(level) + 4} textAnchor="end">
                {level < 0 ? `−${-level}` : level}
              </text>
            </g>
          ))}
          <text className="tick" x={plot.left - 8} y={plot.top - 8} textAnchor="end">
            EV
          </text>
          {clockTicks(minutes)
            .filter((_, i) => !narrow || i % 2 === 0)
            .map((t) => (
              <text key={t.utc} className="tick" x={x(time(t.utc))} y={plot.bottom + 22} textAnchor="middle">
                {t.clock}
              </text>
            ))}
          {subject?.utc ? (
            <rect
              className="window"
              x={shadeLeft}
              width={shadeRight - shadeLeft}
              y={plot.top}
              height={plot.bottom - plot.top}
            />
          ) : null}
          {darkTop === null ? null : (
            <>
              <rect
                className="too-dark"
                x={plot.left}
                width={plot.right - plot.left}
                y={darkTop}
                height={plot.bottom - darkTop}
              />
              <line className="too-dark-line" x1={plot.left} x2={plot.right} y1={darkTop} y2={darkTop} />
            </>
          )}
          {subject ? (
            <rect className="subject" x={plot.left} width={plot.right - plot.left} y={subjectTop - 4} height={8} />
          ) : null}
          {marks.map((m, i) => {
            const top = plot.top - 9 - 17 * rows[i]!
            return (
              <g key={m.words}>
                <line className="event" x1={m.at} x2={m.at} y1={top + 4} y2={plot.bottom} />
                <text className="tick" x={clamp(m.at, plot.left + 30, width - 60)} y={top} textAnchor="middle">
                  {m.words}
                </text>
              </g>
            )
          })}
          {blind === null ? null : <path className="blind" d={`M${blind} ${plot.bottom - 5}H${plot.right}`} />}
          <polyline className="sky" clipPath={`url(#${id}-plot)`} points={curve((m) => m.skyEv100)} />
          <polyline className="ground" clipPath={`url(#${id}-plot)`} points={curve((m) => m.ev100)} />
          <text className="name sky-name halo" x={plot.left + 12} y={y(first.skyEv100) + 22}>
            sky
          </text>
          <text className="name ground-name halo" x={plot.left + 12} y={y(first.ev100) + 26}>
            unlit ground
          </text>
          {subject && !narrow ? (
            <>
              <text className="name subject-name" x={plot.right + 12} y={subjectTop}>
                {subject.words.split(/,| and /)[0]}
              </text>
              <text className="tick" x={plot.right + 12} y={subjectTop + 17}>
                EV {ev(subject.subjectEv100)}
              </text>
            </>
          ) : null}
          {darkTop === null || narrow ? null : (
            <>
              <text className="name dark-name" x={plot.right + 12} y={darkWords}>
                too dark to hold
              </text>
              <text className="tick" x={plot.right + 12} y={darkWords + 17}>
                longest steady shutter
              </text>
            </>
          )}
          {balanceAt !== null && subject ? (
            <g>
              <circle className="lamp-ring" cx={balanceAt} cy={subjectTop} r={14} />
              <circle className="lamp" cx={balanceAt} cy={subjectTop} r={7} />
            </g>
          ) : null}
          <line className="chosen" x1={cx} x2={cx} y1={plot.top - 2} y2={plot.bottom} />
          <circle className="chosen-grip" cx={cx} cy={plot.bottom} r={9} />
          <text
            className="name chosen-name halo"
            x={cx > plot.right - 90 ? cx - 12 : cx + 12}
            y={plot.bottom - 12}
            textAnchor={cx > plot.right - 90 ? 'end' : 'start'}
          >
            {clockOf(minute.local)}
          </text>
        </svg>
      </div>
    </div>
  )
}
