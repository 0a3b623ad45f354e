import { type DragEvent, useState } from 'react'
import { figure, renderPlanView, renderWayHome } from '#apps/report'
import { neverWords, type PlanDocument } from '#jobs/contract'
import { useOutingChange } from './change-outing.ts'
import { Ask, Drawing, LeftOut, Next, Pairs, Sources } from './chrome.tsx'
import { addressOf, client } from './client.ts'
import { NumberField } from './number-field.tsx'
import { useOuting } from './store.tsx'
import { useViewpoint, Viewpoints } from './viewpoints.tsx'
import { clockOf, count } from './words.ts'

/** Can I fly it, and bring it home? */
export function FlightScreen() {
  const { outing, go, start } = useOuting()
  const { plan } = outing
  if (!plan)
    return (
      <>
        <Ask
          question="Can I fly it, and bring it home?"
          answer={
            outing.outing
              ? 'Not planned yet: camera, aircraft and viewpoints are wanted.'
              : 'This outing has no evening yet; say first where and when it is.'
          }
          next={
            outing.outing ? (
              <Next onClick={() => void start({ job: 'plan' })}>Plan it</Next>
            ) : (
              <Next onClick={() => go({ screen: 'light' })}>Say where and when</Next>
            )
          }
        />
        {outing.outing ? <Recon /> : null}
      </>
    )
  return <Planned plan={plan} />
}

function Planned({ plan }: { readonly plan: PlanDocument }) {
  const { address, go, outing } = useOuting()
  const view = useViewpoint()
  const { at } = address.params
  return (
    <>
      <Ask
        question="Can I fly it, and bring it home?"
        answer={<Answer plan={plan} />}
        next={
          <Next
            small={view ? view.name : 'nothing is flown yet'}
            onClick={() => go({ screen: 'exposure', params: at ? { at } : {} })}
          >
            See what to set
          </Next>
        }
      />
      <Viewpoints current={view} />
      <div className="grid flight">
        <div className="stack">
          {view ? (
            <>
              <Drawing
                label={`The way home from ${view.name}`}
                svg={renderWayHome(
                  {
                    ...view.wayHome,
                    name: view.name,
                    viewpointMetres: view.heightMetres,
                    returnMetres: plan.returnHeightMetres,
                    ceilingMetres: plan.ceilingMetres,
                  },
                  'now',
                )}
              />
              <p className="why">
                Heights above take-off; margin {figure(plan.clearanceMetres, 0, 'm')}, height limit{' '}
                {figure(plan.ceilingMetres, 0, 'm')}. What is not on the list of obstacles is not in the picture.
              </p>
              <Drawing label="The viewpoints from above" svg={renderPlanView(plan)} />
            </>
          ) : null}
          <Timetable plan={plan} />
        </div>
        <div className="stack">
          <Card />
          <Pairs
            title="The flight"
            rows={[
              [
                'return height',
                plan.returnHeightMetres === null
                  ? (plan.returnReason ?? 'none')
                  : figure(plan.returnHeightMetres, 0, 'm'),
              ],
              ['wind up there', figure(plan.windAloftMetresPerSecond, 1, 'm/s')],
              ['batteries', String(plan.batteries)],
              ['reserve, never planned for', figure(plan.reservePercent, 0, '%')],
              [
                'sensors blind',
                plan.sensing.local ? `from ${clockOf(plan.sensing.local)}` : neverWords(plan.sensing.never),
                'bad',
              ],
            ]}
          />
          <Conditions />
        </div>
      </div>
      <section className="panel" aria-label="Before you fly">
        <h2>Before you fly</h2>
        <ul className="cautions">
          {plan.cautions.map((c) => (
            <li key={c}>{c}</li>
          ))}
        </ul>
        <p className="quiet">
          Rules differ by place and change; check your local rules.{' '}
          {plan.rules.map((r) => `${r.where}: ${r.what} (${r.source}; as of ${r.asOf}). `)}
        </p>
      </section>
      <Recon />
      <LeftOut entries={plan.leftOut} />
      <Sources lines={plan.basis} />
      <span className="hidden">{outing.id}</span>
    </>
  )
}

function Answer({ plan }: { readonly plan: PlanDocument }) {
  if (plan.viewpoints.length === 0)
    return <>No viewpoint can be flown as stated; add some from a recon flight by daylight, or in outing.json.</>
  return (
    <>
      {plan.returnHeightMetres === null ? (
        <em>{plan.returnReason ?? 'There is no return height'}</em>
      ) : (
        <>
          Return height <b>{figure(plan.returnHeightMetres, 0, 'm')}</b>
        </>
      )}
      {plan.upByLocal ? <>, up by {clockOf(plan.upByLocal)}</> : null}
      {plan.homeByLocal ? (
        <>
          , home by <b>{clockOf(plan.homeByLocal)}</b>
        </>
      ) : null}
      . Check your local rules.
    </>
  )
}

function Timetable({ plan }: { readonly plan: PlanDocument }) {
  if (plan.viewpoints.length === 0) return null
  return (
    // biome-ignore lint/a11y/noNoninteractiveTabindex: a table that scrolls sideways must be reachable by keyboard.
    <section className="panel scroll" aria-label="Battery and leave by" tabIndex={0}>
      <table>
        <thead>
          <tr>
            <th scope="col">Where</th>
            <th scope="col">Arrive</th>
            <th scope="col">Leave by</th>
            <th scope="col">With</th>
            <th scope="col">Battery</th>
            <th scope="col">Way home</th>
          </tr>
        </thead>
        <tbody>
          {plan.viewpoints.map((v) => (
            <tr key={`${v.name} ${v.set}`}>
              <th scope="row">
                {v.name}
                {v.set === 'dark' ? ', after dark' : ''}
              </th>
              <td>{clockOf(v.arriveLocal)}</td>
              <td>{v.leaveByLocal ? clockOf(v.leaveByLocal) : (v.never ?? '')}</td>
              <td>{v.leaveWithPercent === null ? 'not known' : `${Math.ceil(v.leaveWithPercent)} %`}</td>
              <td>{v.battery}</td>
              <td>
                {figure(v.wayHome.metres, 0, 'm')}
                {v.wayHome.seconds === null ? '' : `, ${v.wayHome.seconds} s`}
              </td>
            </tr>
          ))}
        </tbody>
      </table>
    </section>
  )
}

/** The pilot's page, as it looks on the phone at night and on paper by day. */
function Card() {
  const { outing, address, set } = useOuting()
  const form = address.params['card'] === 'paper' ? 'paper' : 'night'
  const source = addressOf.card(outing.id, form, outing.revision)
  return (
    <section className="panel card-panel" aria-label="Field card">
      <div className="row between">
        <fieldset className="tabs small">
          <legend className="hidden">Form of the field card</legend>
          {(['night', 'paper'] as const).map((f) => (
            <label key={f} className={f === form ? 'tab current' : 'tab'}>
              <input
                type="radio"
                name="card-form"
                checked={f === form}
                onChange={() => set({ card: f === 'paper' ? f : null })}
              />
              {f === 'night' ? 'red, for the dark' : 'on paper'}
            </label>
          ))}
        </fieldset>
        <a
          className="plain"
          href={addressOf.card(outing.id, 'night', outing.revision)}
          target="_blank"
          rel="noreferrer"
        >
          Open to print
        </a>
      </div>
      <iframe
        title={`Field card, ${form === 'night' ? 'for the dark' : 'on paper'}`}
        src={source}
        className={form}
        sandbox=""
      />
    </section>
  )
}

/** What is known of the hour; every change plans anew. */
function Conditions() {
  const { outing } = useOuting()
  const change = useOutingChange()
  const stated = outing.outing
  if (!stated) return null
  const { weather, intent } = stated
  const setWeather = (words: string, part: Partial<typeof weather>) =>
    change(words, (d) => ({ ...d, weather: { ...d.weather, ...part } }))
  const setIntent = (words: string, part: Partial<typeof intent>) =>
    change(words, (d) => ({ ...d, intent: { ...d.intent, ...part } }))
  return (
    <section className="panel" aria-label="Conditions">
      <h2 className="small-title">Conditions</h2>
      <div className="fields">
        <NumberField
          label="wind at 10 m"
          unit="m/s"
          min={0}
          max={80}
          value={weather.windMetresPerSecond}
          onChange={(v) => setWeather('the wind', { windMetresPerSecond: v })}
        />
        <NumberField
          label="gusts"
          unit="m/s"
          min={0}
          max={120}
          value={weather.gustMetresPerSecond}
          onChange={(v) => setWeather('the gusts', { gustMetresPerSecond: v })}
        />
        <NumberField
          label="wind from"
          unit="°"
          min={0}
          max={360}
          value={weather.windFromDegrees}
          onChange={(v) => setWeather('the wind’s direction', { windFromDegrees: v })}
        />
        <NumberField
          label="temperature"
          unit="°C"
          min={-60}
          max={60}
          value={weather.temperatureCelsius}
          onChange={(v) => setWeather('the temperature', { temperatureCelsius: v })}
        />
        <NumberField
          label="reserve"
          unit="%"
          min={0}
          max={90}
          value={intent.reservePercent}
          onChange={(v) => setIntent('the reserve', { reservePercent: v })}
        />
        <NumberField
          label="margin over obstacles"
          unit="m"
          min={0}
          max={200}
          value={intent.clearanceMetres}
          onChange={(v) => setIntent('the margin', { clearanceMetres: v })}
        />
      </div>
    </section>
  )
}

/** Photographs of a daylight flight: dropped here they become viewpoints and obstacles. */
function Recon() {
  const { outing, start, fail } = useOuting()
  const [sent, setSent] = useState<string | null>(null)
  const [over, setOver] = useState(false)
  const take = async (files: readonly File[]) => {
    setOver(false)
    try {
      for (const [i, file] of files.entries()) {
        setSent(`${i + 1} of ${files.length}`)
        await client.upload(outing.id, file)
      }
      setSent(null)
      if (files.length > 0) await start({ job: 'recon' })
    } catch (error) {
      setSent(null)
      fail(error)
    }
  }
  const drop = (event: DragEvent) => {
    event.preventDefault()
    void take([...event.dataTransfer.files])
  }
  return (
    <section
      className={over ? 'panel drop over' : 'panel drop'}
      aria-label="Recon photographs"
      onDragOver={(e) => {
        e.preventDefault()
        setOver(true)
      }}
      onDragLeave={() => setOver(false)}
      onDrop={drop}
    >
      <h2 className="small-title">Recon by daylight</h2>
      <p className="quiet">
        Drop photographs of a daylight flight here: where the aircraft hung and looked becomes a viewpoint, level
        pictures of tops become obstacles.{' '}
        {outing.outing ? `${count(outing.outing.site.obstacles.length, 'obstacle')} known.` : ''}
      </p>
      <label className="plain file">
        Choose photographs
        <input
          type="file"
          multiple
          accept=".dng,.jpg,.jpeg,image/jpeg,image/x-adobe-dng"
          onChange={(e) => {
            void take([...(e.target.files ?? [])])
            e.target.value = ''
          }}
        />
      </label>
      <p role="status">{sent === null ? '' : `Taking in ${sent}…`}</p>
    </section>
  )
}
