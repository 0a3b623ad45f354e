import { Failure } from '#core/base'

/**
 * Passes when every bracket that was asked for by number is there; a number that is mistyped must not pass unseen.
 * @throws Failure usage "no-such-bracket"
 */
export function requireIds(path: string, wanted: readonly string[] | undefined, found: readonly string[]): void {
  if (found.length === 0) return
  const missing = wanted?.find((id) => !found.includes(id))
  if (missing !== undefined) throw new Failure('usage', 'no-such-bracket', { path, wanted: missing, found })
}
