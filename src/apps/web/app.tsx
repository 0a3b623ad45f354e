import { lazy, Suspense, useEffect } from 'react'
import { Thread, Trouble, Work } from './chrome.tsx'
import { unreachable } from './client.ts'
import { ExposureScreen } from './exposure.tsx'
import { FirstScreen } from './first.tsx'
import { FlightScreen } from './flight.tsx'
import { FramesScreen } from './frames.tsx'
import { GoOn } from './go-on.tsx'
import { LightScreen } from './light.tsx'
import { screenWords, useActiveJob, useStore } from './store.tsx'

const MergeScreen = lazy(() => import('./merge.tsx').then((m) => ({ default: m.MergeScreen })))
const PrintScreen = lazy(() => import('./print.tsx').then((m) => ({ default: m.PrintScreen })))

export function App() {
  const { address, outing, trouble, connected, putAway } = useStore()
  const job = useActiveJob()
  useEffect(() => {
    const where = address.outing === null ? 'Outings' : screenWords[address.screen]
    document.title = `${where} · ${outing?.title ?? 'Duskwork'}`
  }, [address, outing])
  return (
    <>
      <a className="skip" href="#main">
        To the answer
      </a>
      <Thread />
      <main id="main" tabIndex={-1}>
        {connected ? null : <Trouble failure={unreachable} />}
        {trouble && trouble.code !== 'unreachable' ? <Trouble failure={trouble} onClose={putAway} /> : null}
        <Work job={job} />
        {address.outing === null ? <FirstScreen /> : outing ? <Opened /> : <Opening />}
      </main>
      <footer>
        <p>
          On this machine alone: nothing is sent anywhere. Originals are read, never written. Flying in the dark can
          hurt people: check your local rules; you decide.
        </p>
      </footer>
    </>
  )
}

function Opened() {
  const { address, outing } = useStore()
  return (
    <>
      <GoOn />
      {outing?.faults.map((f) => (
        <Trouble key={f.sentence} failure={f} />
      ))}
      <Suspense fallback={<Opening />}>
        {address.screen === 'light' ? <LightScreen /> : null}
        {address.screen === 'flight' ? <FlightScreen /> : null}
        {address.screen === 'exposure' ? <ExposureScreen /> : null}
        {address.screen === 'frames' ? <FramesScreen /> : null}
        {address.screen === 'merge' ? <MergeScreen /> : null}
        {address.screen === 'print' ? <PrintScreen /> : null}
      </Suspense>
    </>
  )
}

const Opening = () => (
  <p className="waiting" role="status">
    Reading the outing…
  </p>
)
