import type { OutingDocument } from '#jobs/contract'
import { useOuting } from './store.tsx'

/** Saves a changed outing.json at once; the plan follows, and the change can be undone. */
export function useOutingChange() {
  const { outing, change } = useOuting()
  return (words: string, make: (document: OutingDocument) => OutingDocument): void => {
    if (!outing.outing) return
    void change({ change: 'outing', tag: outing.outingTag, document: make(outing.outing), words })
  }
}
