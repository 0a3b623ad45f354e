import { figure } from '#apps/report'
import { type MinutePicture, type PlanMinute, type PlanViewpoint, shutter } from '#jobs/contract'
import { useOutingChange } from './change-outing.ts'
import { Ask, Next, Pairs, Sources, useWidth } from './chrome.tsx'
import { client } from './client.ts'
import { NumberField } from './number-field.tsx'
import { useAsked, useOuting } from './store.tsx'
import { useViewpoint, Viewpoints } from './viewpoints.tsx'
import { bytes, clockOf, count, ev, percent, settings, stops } from './words.ts'

/** What do I set? */
export function ExposureScreen() {
  const { outing, go } = useOuting()
  const view = useViewpoint()
  if (!view)
    return (
      <Ask
        question="What do I set?"
        answer="There is no viewpoint yet that could be flown: a picture needs a place to be taken from."
        next={
          <Next onClick={() => go({ screen: outing.outing ? 'flight' : 'light' })}>
            {outing.outing ? 'Add viewpoints' : 'Say where and when'}
          </Next>
        }
      />
    )
  return <Settings view={view} />
}

/** The minute in the address as an instant near the viewpoint's own time. */
function minuteOf(view: PlanViewpoint, at: string | undefined): string {
  const { arriveUtc, arriveLocal } = view
  if (at === undefined) return arriveUtc
  const own = Number(arriveLocal.slice(11, 13)) * 60 + Number(arriveLocal.slice(14, 16))
  const wanted = Number(at.slice(0, 2)) * 60 + Number(at.slice(3, 5))
  // The nearest such time of the clock: an evening may pass midnight.
  const away = ((wanted - own + 720 + 1440) % 1440) - 720
  return new Date(Math.floor(Date.parse(arriveUtc) / 60_000) * 60_000 + away * 60_000).toISOString()
}

function Settings({ view }: { readonly view: PlanViewpoint }) {
  const { outing, address, set, go } = useOuting()
  const change = useOutingChange()
  const utc = minuteOf(view, address.params['at'])
  const asked = useAsked(`${outing.id} ${outing.outingTag} ${view.name} ${utc}`, (s) =>
    client.minute(outing.id, { viewpoint: view.name, utc, date: null }, s),
  )
  const minute: PlanMinute | null = asked.value
  const now: MinutePicture = minute && minute.viewpoint === view.name ? minute.now : view
  const late = minute?.tenMinutesLate ?? null
  const local = minute?.local ?? view.arriveLocal
  const stated = outing.outing?.viewpoints.find((v) => v.name === view.name)
  const step = (minutes: number) => {
    const ms = Date.parse(local.slice(0, 16).concat(':00Z')) + minutes * 60_000
    set({ at: new Date(ms).toISOString().slice(11, 16) })
  }
  return (
    <>
      <Ask
        question={`What do I set at ${clockOf(local)}, ${view.name}?`}
        answer={
          <>
            <b>{settings(now.settings)}</b>
            {now.bracket.frames > 1 ? (
              <>
                ; {count(now.bracket.frames, 'frame')}{' '}
                <i>
                  {figure(now.bracket.stepStops, now.bracket.stepStops % 1 === 0 ? 0 : 1)} stop
                  {now.bracket.stepStops === 1 ? '' : 's'}
                </i>{' '}
                apart
              </>
            ) : (
              '; one frame'
            )}
            {now.repeats === null
              ? '; too unsteady for any number of tries'
              : now.repeats > 1
                ? `, ${now.repeats} times`
                : ''}
            .
          </>
        }
        next={
          <Next small="after the flight" onClick={() => go({ screen: 'frames' })}>
            Bring the card
          </Next>
        }
      />
      <Viewpoints current={view} />
      <div className="panel">
        <fieldset className="row bare" aria-label="Minute">
          <button type="button" className="plain" onClick={() => step(-1)} aria-label="A minute earlier">
            ←
          </button>
          <strong className="minute">{clockOf(local)}</strong>
          <button type="button" className="plain" onClick={() => step(1)} aria-label="A minute later">
            →
          </button>
          {address.params['at'] ? (
            <button type="button" className="plain" onClick={() => set({ at: null })}>
              Back to the arrival, {clockOf(view.arriveLocal)}
            </button>
          ) : null}
        </fieldset>
        <BracketDrawing now={now} hoverLimitSeconds={now.hoverLimitSeconds} />
        <p className="why">
          Frames in the order to take them, by shutter time; behind the line the aircraft does not hold still enough.
        </p>
      </div>
      <div className="grid three">
        <Pairs
          title="What it will hold"
          rows={[
            ['hover limit', shutter(now.hoverLimitSeconds)],
            ['signal over noise, merged', String(Math.round(now.predictedSnr))],
            ['in the middle frame alone', String(Math.round(now.predictedSnrSingle))],
            ['each bracket kept', `${percent(now.keepOdds)}${now.keepBasis === 'default' ? ', not learnt yet' : ''}`],
            ['whole bracket', figure(now.bracket.totalSeconds, 0, 's')],
            ['on the card', bytes(now.cardBytes)],
          ]}
        />
        <Pairs
          title="The light then"
          rows={[
            ['sky', `EV ${ev(now.skyEv100)}`],
            ['unlit ground', `EV ${ev(now.groundEv100)}`],
            ['subject', `EV ${ev(view.subjectEv100)}`],
            ['balance', view.balanceLocal ? clockOf(view.balanceLocal) : 'none'],
          ]}
        />
        <Pairs
          title="Ten minutes later"
          rows={
            late
              ? [
                  ['sky', `${stops(-late.stopsDarker)} stops`],
                  ['settings', settings(late.settings)],
                  ['bracket', `${late.bracket.frames} × ${figure(late.bracket.stepStops, 1)}`],
                  ['kept', percent(late.keepOdds)],
                ]
              : [['', '…']]
          }
        />
      </div>
      {now.remarks.length > 0 ? (
        <section className="panel" aria-label="To know">
          <ul>
            {now.remarks.map((r) => (
              <li key={r.code}>{r.words}</li>
            ))}
          </ul>
        </section>
      ) : null}
      {stated && outing.outing ? (
        <section className="panel" aria-label="What this picture is to be">
          <h2 className="small-title">What this picture is to be</h2>
          <div className="fields">
            <NumberField
              label="smear that may show"
              unit="px"
              min={0.1}
              max={50}
              value={outing.outing.intent.blurPixels}
              onChange={(v) => change('the smear', (d) => ({ ...d, intent: { ...d.intent, blurPixels: v } }))}
            />
            <NumberField
              label="longest bracket"
              unit="s"
              min={1}
              max={600}
              value={outing.outing.intent.bracketSeconds}
              onChange={(v) =>
                change('the bracket’s length', (d) => ({ ...d, intent: { ...d.intent, bracketSeconds: v } }))
              }
            />
            <NumberField
              label="time at this viewpoint"
              unit="min"
              min={0.5}
              max={120}
              value={stated.minutes}
              onChange={(v) =>
                change('the time there', (d) => ({
                  ...d,
                  viewpoints: d.viewpoints.map((p) => (p.name === view.name ? { ...p, minutes: v } : p)),
                }))
              }
            />
          </div>
        </section>
      ) : null}
      <Sources lines={outing.plan?.basis ?? []} />
    </>
  )
}

/** The bracket's frames on a scale of shutter times, and where the hover ends. */
function BracketDrawing({
  now,
  hoverLimitSeconds,
}: {
  readonly now: MinutePicture
  readonly hoverLimitSeconds: number
}) {
  const [ref, width] = useWidth(1200)
  const times = now.bracket.shuttersSeconds
  const row = 26
  const top = 44
  const height = top + row * times.length + 12
  const low = Math.log2(Math.min(...times, hoverLimitSeconds)) - 1
  const high = Math.log2(Math.max(...times, hoverLimitSeconds)) + 1
  const left = 92
  const right = width - 16
  const x = (seconds: number) => left + ((Math.log2(seconds) - low) / (high - low)) * (right - left)
  const limit = x(hoverLimitSeconds)
  const words = times.map((t, i) => `frame ${i + 1}: ${shutter(t)}`).join(', ')
  return (
    <div ref={ref} className="night bracket-drawing">
      <svg
        className="plot"
        width={width}
        height={height}
        viewBox={`0 0 ${width} ${height}`}
        role="img"
        aria-label={`${words}; hover limit ${shutter(hoverLimitSeconds)}`}
      >
        <rect className="too-dark" x={limit} width={Math.max(0, right - limit)} y={top - 6} height={height - top} />
        <line className="too-dark-line" x1={limit} x2={limit} y1={top - 14} y2={height - 6} />
        <text
          className="tick"
          x={limit > width - 170 ? limit - 6 : limit + 6}
          y={top - 20}
          textAnchor={limit > width - 170 ? 'end' : 'start'}
        >
          hover limit {shutter(hoverLimitSeconds)}
        </text>
        {times.map((t, i) => (
          // biome-ignore lint/suspicious/noArrayIndexKey: the frames of a bracket are known by their order.
          <g key={i}>
            <text className="tick" x={left - 10} y={top + row * i + 14} textAnchor="end">
              {shutter(t)}
            </text>
            <rect
              className={t > hoverLimitSeconds ? 'span over' : 'span'}
              x={left}
              width={Math.max(3, x(t) - left)}
              y={top + row * i + 3}
              height={14}
              rx={5}
            />
          </g>
        ))}
      </svg>
    </div>
  )
}
