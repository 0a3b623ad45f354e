import { client } from './client.ts'
import { useActiveJob, useOuting } from './store.tsx'

const words: Readonly<Record<string, string>> = {
  merge: 'merging the brackets',
  print: 'printing',
  check: 'measuring the frames',
  card: 'copying the card',
  demo: 'making the demonstration',
}

/** Offers to go on with what a stop or a kill cut short; what was finished stays finished. */
export function GoOn() {
  const { outing, start, reload, fail } = useOuting()
  const active = useActiveJob()
  if (!outing.unfinished || active) return null
  const { job, since, options } = outing.unfinished
  const at = new Date(since)
  return (
    <section className="panel go-on" aria-label="Unfinished work">
      <p>
        The program ended while it was {words[job] ?? job} (
        {at.toLocaleTimeString([], { hour: '2-digit', minute: '2-digit' })}
        ). What was finished is whole; the rest can go on from there.
      </p>
      <div className="row">
        <button
          type="button"
          className="plain strong"
          onClick={() => {
            // Which brackets are still to merge is looked up anew.
            const { brackets: _, ...rest } = options as Record<string, unknown>
            void start((job === 'merge' ? rest : options) as Parameters<typeof start>[0])
          }}
        >
          Go on
        </button>
        <button type="button" className="plain" onClick={() => void client.dropWork(outing.id).then(reload, fail)}>
          Leave it
        </button>
      </div>
    </section>
  )
}
