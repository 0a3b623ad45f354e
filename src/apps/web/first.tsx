import { type FormEvent, useState } from 'react'
import { Ask, Go, Next } from './chrome.tsx'
import { client } from './client.ts'
import { useStore } from './store.tsx'
import { count } from './words.ts'

/** Where a night begins: outings that are there, a card, the demonstration, or a plan. */
export function FirstScreen() {
  const { page, address, set } = useStore()
  if (!page)
    return (
      <p className="waiting" role="status">
        Opening…
      </p>
    )
  const first = page.outings[0]
  const asked = address.params['with']
  return (
    <>
      <Ask
        question="Where does this night begin?"
        answer={
          first ? (
            <>
              {count(page.outings.length, 'outing')} here; go on with <b>{first.title}</b>, or bring a card.
            </>
          ) : (
            <>With your own card, with a plan for an evening, or with the demonstration.</>
          )
        }
        next={
          <Next
            small={page.cards[0] ? page.cards[0].folder : 'from a reader or a folder'}
            onClick={() => set({ with: 'card' })}
          >
            Use my card
          </Next>
        }
      />
      {asked === 'card' ? <CardPanel /> : null}
      {asked === 'plan' ? <PlanPanel /> : null}
      <div className="grid three">
        {page.outings.map((o) => (
          <section className="panel" key={o.id} aria-label={o.title}>
            <h2>
              <Go to={{ outing: o.id, screen: 'light' }}>{o.title}</Go>
            </h2>
            <p className="quiet">
              {o.date ?? 'no evening stated'} <br />
              <span className="path">{o.folder}</span>
            </p>
          </section>
        ))}
        <section className="panel" aria-label="An evening to come">
          <h2>An evening to come</h2>
          <p className="quiet">Say where and when: light, flight and exposure follow.</p>
          <button type="button" className="plain" onClick={() => set({ with: 'plan' })}>
            Plan an evening
          </button>
        </section>
        {page.demo ? <DemoPanel folder={page.demo} /> : null}
      </div>
    </>
  )
}

function DemoPanel({ folder }: { readonly folder: string }) {
  const { start, go } = useStore()
  return (
    <section className="panel" aria-label="The demonstration">
      <h2>The demonstration</h2>
      <p className="quiet">
        An invented river town with a weir, a lock and a mill: three brackets of known truth, merged and printed. Some
        400 MB, under a minute. <br />
        <span className="path">{folder}</span>
      </p>
      <button
        type="button"
        className="plain"
        onClick={async () => {
          const id = await start({ job: 'demo' }, null)
          if (id) go({ outing: id, screen: 'frames' })
        }}
      >
        Make it
      </button>
    </section>
  )
}

/** A card that is plugged in, or any folder; copied with proof, and grouped. */
function CardPanel() {
  const { page, start, go } = useStore()
  const cards = page?.cards ?? []
  const [card, setCard] = useState(cards[0]?.folder ?? '')
  const copyIt = async (event: FormEvent) => {
    event.preventDefault()
    const id = await start({ job: 'card', card }, null)
    if (id) go({ outing: id, screen: 'frames' })
  }
  return (
    <form className="panel form" onSubmit={copyIt} aria-label="Use my card">
      {cards.length > 0 ? (
        <fieldset>
          <legend>Cards that were found</legend>
          {cards.map((c) => (
            <label key={c.id} className="choice">
              <input type="radio" name="card" checked={card === c.folder} onChange={() => setCard(c.folder)} />
              <span className="path">{c.folder}</span> <span className="quiet">{count(c.stills, 'still')}</span>
            </label>
          ))}
        </fieldset>
      ) : (
        <p>No card was found. Put it in, or name its folder.</p>
      )}
      <label>
        Folder of the card
        <input type="text" value={card} onChange={(e) => setCard(e.target.value)} spellCheck={false} required />
      </label>
      <p className="quiet">
        It is only read. Every copy is read back and compared before the page says that the card is safe to wipe. The
        outing goes to <span className="path">{page?.home}</span>.
      </p>
      <button type="submit" className="next" disabled={card === ''}>
        Copy this card
      </button>
    </form>
  )
}

/** Title, date and place of an evening; everything else has a default that can be changed later. */
export function PlanPanel({ into = null }: { readonly into?: string | null }) {
  const { go, fail, reload } = useStore()
  const begin = async (event: FormEvent<HTMLFormElement>) => {
    event.preventDefault()
    const data = new FormData(event.currentTarget)
    const text = (name: string) => String(data.get(name) ?? '')
    try {
      const { outing } = await client.begin(into, {
        title: text('title'),
        date: text('date'),
        latitude: Number(text('latitude')),
        longitude: Number(text('longitude')),
        timeZone: text('zone') === '' ? null : text('zone'),
      })
      reload()
      go({ outing, screen: 'light' })
    } catch (error) {
      fail(error)
    }
  }
  const today = new Date().toISOString().slice(0, 10)
  return (
    <form className="panel form" onSubmit={begin} aria-label="Plan an evening">
      <label>
        What is it called?
        <input type="text" name="title" required maxLength={80} autoComplete="off" />
      </label>
      <label>
        Evening
        <input type="date" name="date" required defaultValue={today} min="1900-01-01" max="2100-12-31" />
      </label>
      <label>
        Latitude, degrees, north positive
        <input type="number" name="latitude" required step="any" min={-90} max={90} autoComplete="off" />
      </label>
      <label>
        Longitude, degrees, east positive
        <input type="number" name="longitude" required step="any" min={-180} max={180} autoComplete="off" />
      </label>
      <label>
        Time zone, if not that of the place
        <input type="text" name="zone" autoComplete="off" spellCheck={false} />
      </label>
      <button type="submit" className="next">
        Begin
      </button>
    </form>
  )
}
