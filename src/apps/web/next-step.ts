import type { OutingState } from '#jobs/contract'
import type { Screen } from './address.ts'

/** How far the night is: which stops of its thread are behind. */
export function doneScreens(state: OutingState): ReadonlySet<Screen> {
  const done = new Set<Screen>()
  if (state.outing) done.add('light')
  if (state.plan && state.plan.viewpoints.length > 0) for (const s of ['flight', 'exposure'] as const) done.add(s)
  if (state.group && state.group.brackets.length > 0) done.add('frames')
  if (bracketsToMerge(state).length === 0 && state.merged.length > 0) done.add('merge')
  if (state.prints.length > 0) done.add('print')
  return done
}

/** Brackets whose radiance image is missing or was made from other frames; those to re-fly come last and can be left. */
export function bracketsToMerge(state: OutingState): string[] {
  const good = new Set(state.merged.filter((m) => !m.stale).map((m) => m.id))
  return (state.group?.brackets ?? []).map((b) => b.id).filter((id) => !good.has(id))
}

/** Where an outing goes on: the first question that has no answer yet. */
export function nextScreen(state: OutingState): Screen {
  if (state.originals === 0) {
    if (!state.outing) return 'light'
    return state.plan ? 'flight' : 'light'
  }
  if (!state.group) return 'frames'
  if (bracketsToMerge(state).length > 0) return state.merged.length > 0 ? 'merge' : 'frames'
  return state.prints.length > 0 || state.merged.length > 0 ? 'print' : 'frames'
}
