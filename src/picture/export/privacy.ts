import { noFacts, type PrintFacts } from './exif-block.ts'

/**
 * What no print carries, whatever the frames carried: it would tell where somebody stood, how they flew, or whose
 * aircraft it is. A print's metadata is written anew from the facts below, never copied, so these cannot slip through.
 */
export const alwaysRemoved = [
  'gps-position',
  'height',
  'attitude',
  'speed',
  'serial-numbers',
  'owner-name',
  'maker-note',
  'camera-xmp',
  'thumbnail',
  'preview',
] as const

/** What a print may say, by name, in the order of a record. */
export const keepGroups = ['author', 'copyright', 'caption', 'exposure', 'time', 'camera'] as const

export type KeepGroup = (typeof keepGroups)[number]

const factsOfGroup: Readonly<Record<KeepGroup, readonly (keyof PrintFacts)[]>> = {
  author: ['artist'],
  copyright: ['copyright'],
  caption: ['caption'],
  exposure: ['exposureSeconds', 'fNumber', 'iso', 'focalLengthMillimetres'],
  time: ['takenAtCamera', 'offsetMinutes'],
  camera: ['make', 'model'],
}

/** Only the facts of the groups that are kept. */
export function keptFacts(facts: PrintFacts, keep: readonly KeepGroup[]): PrintFacts {
  const names = new Set(keep.flatMap((group) => factsOfGroup[group]))
  return Object.fromEntries(
    Object.keys(noFacts).map((name) => [
      name,
      names.has(name as keyof PrintFacts) ? facts[name as keyof PrintFacts] : null,
    ]),
  ) as unknown as PrintFacts
}

/** Names of everything that a print is made without: the list above, and the groups that were not kept. */
export const removedNames = (keep: readonly KeepGroup[]): string[] => [
  ...alwaysRemoved,
  ...keepGroups.filter((group) => !keep.includes(group)),
]
