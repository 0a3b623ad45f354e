/** A lit thing that a night picture is balanced for, with its published level, EV at ISO 100. */
export interface Subject {
  readonly id: string
  readonly words: string
  readonly lowEv100: number
  readonly highEv100: number
}

/**
 * The night scenes of the photographic exposure guide ANSI PH2.7-1973 and -1986, by a transcription that cites both. The
 * middle of a range is what is aimed at.
 */
export const subjects: readonly Subject[] = [
  { id: 'signs', words: 'neon and bright signs', lowEv100: 9, highEv100: 10 },
  { id: 'bright-streets', words: 'bright streets', lowEv100: 8, highEv100: 8 },
  { id: 'windows', words: 'night streets, window displays', lowEv100: 7, highEv100: 8 },
  { id: 'fairs', words: 'fairs', lowEv100: 7, highEv100: 7 },
  { id: 'traffic', words: 'night traffic', lowEv100: 5, highEv100: 5 },
  { id: 'tree-lights', words: 'lights in trees', lowEv100: 4, highEv100: 5 },
  { id: 'floodlit', words: 'floodlit walls and monuments', lowEv100: 3, highEv100: 5 },
  { id: 'distant', words: 'lit buildings in the distance', lowEv100: 2, highEv100: 2 },
]

/** Subjects of the same table that no lamp lights: for an exposure, not for a balance. */
export const moonlitSubjects: readonly Subject[] = [
  { id: 'full-moon', words: 'a landscape under the full moon', lowEv100: -3, highEv100: -2 },
  { id: 'gibbous-moon', words: 'a landscape under a gibbous moon', lowEv100: -4, highEv100: -4 },
  { id: 'quarter-moon', words: 'a landscape under a quarter moon', lowEv100: -6, highEv100: -6 },
]

export const levelOf = ({ lowEv100, highEv100 }: Subject): number => (lowEv100 + highEv100) / 2

/** Null when there is none of that name. */
export const subjectById = (id: string): Subject | null =>
  [...subjects, ...moonlitSubjects].find((s) => s.id === id) ?? null
