import { sentenceForLeftOut } from '#jobs/contract'
import { useActiveJob, useOuting } from './store.tsx'
import { count } from './words.ts'

/** Files that are named before the rest is counted. */
const MOST_NAMED = 12

function cardRows({ copy, originals }: ReturnType<typeof useOuting>['outing']): (readonly [string, string, string?])[] {
  const rows: (readonly [string, string, string?])[] = [['originals', count(originals, 'file')]]
  if (!copy) return rows
  return [
    ...rows,
    ['copied from', copy.card],
    copy.safeToWipe
      ? ['the card', 'safe to wipe: every file is here, with the same SHA-256', 'good']
      : [
          'the card',
          `keep it: ${copy.failed.length > 0 ? count(copy.failed.length, 'file') : 'some files'} not proven here`,
          'bad',
        ],
  ]
}

/** The card's copy; where something is missing, which files and why, and the way to go on. */
export function CopyState() {
  const { outing, start } = useOuting()
  const active = useActiveJob()
  const { copy } = outing
  const failed = copy?.failed ?? []
  return (
    <section className={copy && !copy.safeToWipe ? 'panel trouble' : 'panel'} aria-label="The card">
      <h2 className="small-title">The card</h2>
      <dl className="pairs">
        {cardRows(outing).map(([name, value, tone]) => (
          <div key={name}>
            <dt>{name}</dt>
            <dd className={tone}>{value}</dd>
          </div>
        ))}
      </dl>
      {failed.length > 0 ? (
        <ul>
          {failed.slice(0, MOST_NAMED).map((f) => (
            <li key={f.file}>{sentenceForLeftOut({ what: f.file, reason: f.reason, facts: {} })}</li>
          ))}
          {failed.length > MOST_NAMED ? <li>and {count(failed.length - MOST_NAMED, 'more file')}</li> : null}
        </ul>
      ) : null}
      {copy && !copy.safeToWipe && !active ? (
        <button type="button" className="plain" onClick={() => void start({ job: 'card', card: copy.card })}>
          Put the card back in and go on copying
        </button>
      ) : null}
    </section>
  )
}
