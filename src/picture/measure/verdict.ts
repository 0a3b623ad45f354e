import { type Advice, adviceFor } from './advice.ts'
import { bestOf, type RuleId, rules } from './rules.ts'
import type { VerdictBracket } from './verdict-types.ts'

/** Why a bracket is not simply kept: the rule, what was found, and the limit it went past, both in the rule's unit. */
export interface Reason {
  readonly rule: RuleId
  /** Null when it could not be measured. */
  readonly value: number | null
  readonly limit: number
}

export interface Verdict {
  readonly verdict: 'keep' | 'doubtful' | 're-fly'
  /** Worst first. */
  readonly reasons: readonly Reason[]
  /** File of the sharpest frame; of the middle exposure where sharpness is not known; null when no frame could be read. */
  readonly best: string | null
  readonly advice: readonly Advice[]
}

/**
 * Judges a bracket by the table of rules. Nothing is kept unseen: where a needed measurement is missing the bracket is
 * doubtful, with `value` null. A bracket of which nothing can be read is to be flown again.
 */
export function verdictOf(bracket: VerdictBracket): Verdict {
  const best = bestOf(bracket)?.file ?? null
  const broken: { reason: Reason; reFly: boolean; excess: number }[] = []
  const advice: Advice[] = []
  for (const rule of rules) {
    const value = rule.find(bracket)
    if (value === 'does-not-apply') continue
    if (value === 'not-measured' || !Number.isFinite(value)) {
      if (rule.needed)
        broken.push({ reason: { rule: rule.id, value: null, limit: rule.doubtful }, reFly: false, excess: 0 })
      continue
    }
    const reFly = rule.reFly !== null && value > rule.reFly
    if (!reFly && !(value > rule.doubtful)) continue
    const limit = reFly ? rule.reFly! : rule.doubtful
    broken.push({ reason: { rule: rule.id, value, limit }, reFly, excess: value / limit })
    // The way back is to the limit of what is kept, not to the edge of what is flown again.
    advice.push(...adviceFor(rule.id, value, rule.doubtful, bracket))
  }
  broken.sort((a, b) => Number(b.reFly) - Number(a.reFly) || b.excess - a.excess)
  const unseen = broken.flatMap(({ reason }) =>
    reason.value === null ? rules.filter((r) => r.id === reason.rule).map((r) => r.looksAt) : [],
  )
  if (unseen.length > 0) advice.push({ code: 'measure-by-eye', facts: { rules: unseen } })
  const nothing = bracket.frames.every((f) => f.levels === null)
  return {
    verdict: nothing || broken.some((b) => b.reFly) ? 're-fly' : broken.length > 0 ? 'doubtful' : 'keep',
    reasons: broken.map((b) => b.reason),
    best,
    advice,
  }
}
