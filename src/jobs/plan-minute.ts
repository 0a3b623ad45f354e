import { Failure } from '#core/base'
import type { OutingDocument } from '#jobs/schemas'
import { localIso, utcIso } from '#plan/sky'
import type { PlanMinute } from './contract/index.ts'
import { eveningFor } from './light.ts'
import { lightWishOf } from './plan-evening.ts'
import { planFacts } from './plan-facts.ts'
import { planPicture } from './plan-picture.ts'

const LATE_MILLISECONDS = 600_000
const round = (value: number, digits: number) => Number(value.toFixed(digits))

/**
 * Settings and bracket of one viewpoint for a chosen minute, and what ten minutes later would need. `viewpoint` null takes
 * the first. @throws Failure usage (facts that a plan cannot do without, "no-such-viewpoint", "minute-form")
 */
export function planMinute(
  outing: OutingDocument,
  path: string,
  { viewpoint, utc }: { viewpoint: string | null; utc: string },
): PlanMinute {
  const facts = planFacts(outing, path)
  const view = viewpoint === null ? facts.views[0] : facts.views.find((v) => v.stated.name === viewpoint)
  if (!view)
    throw new Failure('usage', 'no-such-viewpoint', { path, wanted: viewpoint ?? 'any', found: facts.views.length })
  const evening = eveningFor(lightWishOf(facts))
  const at = Date.parse(utc)
  if (!Number.isFinite(at)) throw new Failure('usage', 'minute-form', { found: utc })
  const now = planPicture(view, facts, evening, at)
  const late = planPicture(view, facts, evening, at + LATE_MILLISECONDS)
  return {
    viewpoint: view.stated.name,
    utc: utcIso(at),
    local: localIso(at, evening.zone),
    now,
    tenMinutesLate: { ...late, stopsDarker: round(now.skyEv100 - late.skyEv100, 1) },
  }
}
