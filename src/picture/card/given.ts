import type { Placed } from './placed.ts'

/** Frames that the photographer has said are one bracket, or, if it is one frame, a single. */
export interface GivenGroup {
  readonly files: readonly string[]
  /** What the bracket's evidence says of it. */
  readonly words: string
}

/**
 * A stream with the given groups taken out, and what is left on either side of their frames: no bracket that is still to
 * be found reaches over a frame that is settled. Files of a group that are no longer there are passed over.
 */
export function piecesAround(
  stream: readonly Placed[],
  given: readonly GivenGroup[],
): { pieces: Placed[][]; groups: { placed: Placed[]; words: string }[] } {
  const groupOf = new Map(given.flatMap((group) => group.files.map((file) => [file, group] as const)))
  const placedOf = new Map<GivenGroup, Placed[]>()
  const pieces: Placed[][] = [[]]
  for (const placed of stream) {
    const group = groupOf.get(placed.frame.file)
    if (!group) {
      pieces.at(-1)!.push(placed)
      continue
    }
    placedOf.set(group, [...(placedOf.get(group) ?? []), placed])
    if (pieces.at(-1)!.length > 0) pieces.push([])
  }
  return {
    pieces: pieces.filter((p) => p.length > 0),
    groups: [...placedOf].map(([group, placed]) => ({ placed, words: group.words })),
  }
}
