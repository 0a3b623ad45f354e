import type { PlanViewpoint } from '#jobs/contract'
import { useOuting } from './store.tsx'
import { clockOf } from './words.ts'

/** The viewpoint that the address names, else the first. */
export function useViewpoint(): PlanViewpoint | undefined {
  const { outing, address } = useOuting()
  const views = outing.plan?.viewpoints ?? []
  return views.find((v) => keyOf(v) === address.params['view']) ?? views[0]
}

const keyOf = (v: PlanViewpoint) => (v.set === 'dark' ? `${v.name} after dark` : v.name)

/** The evening's viewpoints in the order of the flight. */
export function Viewpoints({ current }: { readonly current: PlanViewpoint | undefined }) {
  const { outing, set } = useOuting()
  const views = outing.plan?.viewpoints ?? []
  if (views.length < 2) return null
  return (
    <fieldset className="tabs">
      <legend className="hidden">Viewpoint</legend>
      {views.map((v) => (
        <label key={keyOf(v)} className={v === current ? 'tab current' : 'tab'}>
          <input type="radio" name="view" checked={v === current} onChange={() => set({ view: keyOf(v), at: null })} />
          <span className="tab-time">{clockOf(v.arriveLocal)}</span> {keyOf(v)}
        </label>
      ))}
    </fieldset>
  )
}
