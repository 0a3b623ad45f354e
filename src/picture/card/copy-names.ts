/** One name for all the names that a disk may take for the same: letter case and Unicode composition aside. */
export const sameName = (path: string): string => path.normalize('NFC').toLowerCase()

/** Where the extension begins, the dot included; the length of the path where there is none. */
function endOfStem(path: string): number {
  const name = path.lastIndexOf('/') + 1
  const dot = path.lastIndexOf('.')
  return dot > name ? dot : path.length
}

/** "100/DUSK_0001.DNG" and 2 → "100/DUSK_0001-2.DNG"; 1 leaves the path as it is. Forward slashes separate. */
export function numberedName(path: string, number: number): string {
  const stem = endOfStem(path)
  return number === 1 ? path : `${path.slice(0, stem)}-${number}${path.slice(stem)}`
}

/** Files of one folder that differ in their extension only belong to one shot; two that differ in case only do not. */
function shotsOf(paths: readonly string[]): string[][] {
  const byStem = new Map<string, { names: Set<string>; paths: string[] }[]>()
  for (const path of paths) {
    const stem = sameName(path.slice(0, endOfStem(path)))
    const name = sameName(path)
    const shots = byStem.get(stem) ?? []
    byStem.set(stem, shots)
    const shot = shots.find((s) => !s.names.has(name))
    if (shot) {
      shot.names.add(name)
      shot.paths.push(path)
    } else shots.push({ names: new Set([name]), paths: [path] })
  }
  return [...byStem.values()].flatMap((shots) => shots.map((s) => s.paths))
}

/**
 * Names for copies. A file keeps its path on the card; where that name is taken by other content, the whole shot (raw,
 * companion, sidecars) gets the lowest number from 2 up under which all its names are free, so that what belongs together
 * keeps one base name. The same card and the same target always give the same names, and no two files the same.
 * @param isTaken whether a copy of `file` cannot be called `name`, because something else stands there
 */
export async function copyNames(
  paths: readonly string[],
  isTaken: (name: string, file: string) => Promise<boolean>,
): Promise<Map<string, string>> {
  const own = new Set(paths.map(sameName))
  const given = new Set<string>()
  const names = new Map<string, string>()
  for (const shot of shotsOf(paths)) {
    let wanted: string[]
    let number = 1
    do {
      wanted = shot.map((file) => numberedName(file, number))
      number++
    } while (await anyTaken(wanted, shot, number - 1))
    shot.forEach((file, i) => {
      names.set(file, wanted[i]!)
      given.add(sameName(wanted[i]!))
    })
  }
  return names

  async function anyTaken(wanted: readonly string[], shot: readonly string[], number: number): Promise<boolean> {
    for (const [i, name] of wanted.entries()) {
      const key = sameName(name)
      // A number must not take the name that another file of the card has by itself.
      if (given.has(key) || (number > 1 && own.has(key)) || (await isTaken(name, shot[i]!))) return true
    }
    return false
  }
}
