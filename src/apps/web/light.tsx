import { useEffect } from 'react'
import { figure } from '#apps/report'
import { type LightDocument, neverWords } from '#jobs/contract'
import { Ask, Next, Pairs, Sources, Trouble } from './chrome.tsx'
import { client } from './client.ts'
import { PlanPanel } from './first.tsx'
import { LightStrip } from './light-strip.tsx'
import { useAsked, useOuting } from './store.tsx'
import { clockOf, daysLater, ev, lux, towards } from './words.ts'

/** Which evening, and which minute? */
export function LightScreen() {
  const { outing } = useOuting()
  if (!outing.outing)
    return (
      <>
        <Ask
          question="Which evening, and which minute?"
          answer="This outing has no evening yet: say where and when it is."
        />
        <PlanPanel into={outing.id} />
      </>
    )
  return <Evening date={outing.outing.date} />
}

const useLight = (day: string | null) => {
  const { outing } = useOuting()
  return useAsked(day === null ? null : `${outing.id} ${day} ${outing.outingTag}`, (s) =>
    client.light(outing.id, day, s),
  )
}

function Evening({ date: stated }: { readonly date: string }) {
  const { outing, address, set, go, change } = useOuting()
  const date = address.params['date'] ?? stated
  const evening = useLight(date)
  // The neighbours are ready before they are asked for.
  const before = useLight(evening.waiting ? null : daysLater(date, -1))
  const after = useLight(evening.waiting ? null : daysLater(date, 1))
  const light = evening.value
  useEffect(() => {
    if (evening.failure && date !== stated) set({ date: null })
  }, [evening.failure, date, stated, set])
  if (!light)
    return evening.failure ? <Trouble failure={evening.failure} /> : <p className="waiting">Working out the light…</p>

  const wanted = address.params['subject'] ?? outing.outing?.viewpoints[0]?.subject ?? 'floodlit'
  const subject = light.balance.find((b) => b.subject === wanted) ?? light.balance.find((b) => b.subject === 'floodlit')
  const chosen = chosenIndex(light, address.params['at'], subject?.local ?? null)
  const minute = light.minutes[chosen]!
  const step = (days: number) => set({ date: daysLater(date, days) === stated ? null : daysLater(date, days) })
  const own = date === stated
  const offsetOf = (other: LightDocument | null) => {
    const b = other?.balance.find((o) => o.subject === subject?.subject)
    return b?.local ? clockOf(b.local) : b ? neverWords(b.never) : '…'
  }
  return (
    <>
      <Ask
        question="Which evening, and which minute?"
        answer={<Answer subject={subject} sensing={light.sensing} />}
        next={
          own ? (
            <Next
              small={`for ${clockOf(minute.local)}`}
              onClick={() => go({ screen: 'flight', params: keep(address.params, 'at') })}
            >
              Check the flight
            </Next>
          ) : (
            <Next
              small={`instead of ${stated}`}
              onClick={async () => {
                const document = { ...outing.outing!, date }
                if (await change({ change: 'outing', tag: outing.outingTag, document, words: 'the evening' }))
                  set({ date: null })
              }}
            >
              Take this evening
            </Next>
          )
        }
      />
      <div className="panel evening-panel">
        <div className="row between">
          <fieldset className="row bare" aria-label="Evening">
            <button type="button" className="plain" onClick={() => step(-1)} aria-label="The evening before">
              ←
            </button>
            <label className="inline">
              <span className="hidden">Evening</span>
              <input
                type="date"
                value={date}
                min="1900-01-01"
                max="2100-12-31"
                onChange={(e) => {
                  if (/^\d{4}-\d\d-\d\d$/.test(e.target.value))
                    set({ date: e.target.value === stated ? null : e.target.value })
                }}
              />
            </label>
            <button type="button" className="plain" onClick={() => step(1)} aria-label="The evening after">
              →
            </button>
          </fieldset>
          <label className="inline">
            balanced for{' '}
            <select value={subject?.subject} onChange={(e) => set({ subject: e.target.value, at: null })}>
              {light.balance.map((b) => (
                <option key={b.subject} value={b.subject}>
                  {b.words}
                </option>
              ))}
            </select>
          </label>
        </div>
        <LightStrip
          light={light}
          subject={subject}
          tooDarkEv100={outing.plan?.hoverLimitEv100 ?? null}
          sensingUtc={light.sensing.utc}
          chosen={chosen}
          onChoose={(i) => set({ at: clockOf(light.minutes[i]!.local) })}
        />
        <Sources lines={light.basis} />
      </div>
      <div className="grid four">
        <Pairs
          title={`At ${clockOf(minute.local)}`}
          rows={[
            ['sun', `${ev(minute.sunAltitude)}°, ${towards(minute.sunAzimuth)}`],
            ['sky', `EV ${ev(minute.skyEv100)}`],
            ['unlit ground', `EV ${ev(minute.ev100)}`],
            ['light on the ground', `${lux(minute.lux)} (${lux(minute.luxLow)} to ${lux(minute.luxHigh)})`],
          ]}
        />
        <Pairs
          title="The clock"
          rows={light.events
            .slice(0, 5)
            .map((e) => [eventName(e.name), e.local ? clockOf(e.local) : neverWords(e.never)])}
        />
        <Pairs
          title="Moon and sensors"
          rows={[
            ['moon', `${light.moon.phase}, ${Math.round(100 * light.moon.fraction)} %`],
            [
              'moon then',
              minute.moonAltitude > 0
                ? `${figure(minute.moonAltitude, 0)}° high, ${towards(minute.moonAzimuth)}`
                : 'below the horizon',
            ],
            [
              `under ${light.sensing.lux} lx`,
              light.sensing.local ? `from ${clockOf(light.sensing.local)}` : neverWords(light.sensing.never),
              'bad',
            ],
          ]}
        />
        <Pairs
          title="Balance on other evenings"
          rows={[
            [daysLater(date, -1), offsetOf(before.value)],
            [date, offsetOf(light)],
            [daysLater(date, 1), offsetOf(after.value)],
          ]}
        />
      </div>
    </>
  )
}

/** What of the address goes along to another screen. */
const keep = (params: Readonly<Record<string, string>>, ...names: readonly string[]) =>
  Object.fromEntries(names.flatMap((n) => (params[n] === undefined ? [] : [[n, params[n]]])))

/** The minute in the address, else the balance, else sunset. */
export function chosenIndex(light: LightDocument, at: string | undefined, balance: string | null): number {
  const sunset = light.events.find((e) => e.name === 'sunset')?.local ?? null
  const wanted = at ?? (balance ?? sunset)?.slice(11, 16)
  const found = light.minutes.findIndex((m) => clockOf(m.local) === wanted)
  return found >= 0 ? found : Math.floor(light.minutes.length / 2)
}

function Answer({
  subject,
  sensing,
}: {
  readonly subject: LightDocument['balance'][number] | undefined
  readonly sensing: LightDocument['sensing']
}) {
  if (!subject?.local || !subject.utc)
    return (
      <>
        Sky and {subject?.words ?? 'lamps'} do not meet this evening
        {subject?.never ? `; ${neverWords(subject.never)}` : ''}.
      </>
    )
  const stop = (subject.minutesPerStop ?? 4) * 60_000
  const offset = Date.parse(subject.local) - Date.parse(`${subject.local.slice(0, 19)}Z`)
  const clockAt = (ms: number) => new Date(ms - offset).toISOString().slice(11, 16)
  const at = Date.parse(subject.utc)
  return (
    <>
      Sky and {subject.words.split(/,| and /)[0]} meet at <b>{clockOf(subject.local)}</b>. Within a stop from{' '}
      <i>
        {clockAt(at - stop)} to {clockAt(at + stop)}
      </i>
      {sensing.local ? (
        <>
          ; obstacle sensors are blind from <em>{clockOf(sensing.local)}</em>
        </>
      ) : null}
      .
    </>
  )
}

const eventNames: Readonly<Record<string, string>> = {
  'civil-dusk': 'civil dusk, sun −6°',
  'civil-dusk-30min': 'civil, 30-minute rule',
}

const eventName = (name: string) => eventNames[name] ?? name.replaceAll('-', ' ')
