import { readdir } from 'node:fs/promises'
import { basename, dirname, join, resolve } from 'node:path'
import { Failure } from '#core/base'
import type { CardEntry, Files, OutingEntry } from '#jobs/contract'

/** The demonstration's folder below the home of the outings. */
export const DEMO_FOLDER = 'demo-outing'

/** Where systems put what is plugged in. */
const MOUNTS = ['/media', '/run/media', '/mnt', '/Volumes']
const STILL = /\.(dng|jpe?g)$/i
const MOST_CARDS = 20

export interface OpenedOuting {
  readonly id: string
  readonly folder: string
}

/**
 * The outings that the page may open: the one that was named, those beside it in the same home, and those begun on the
 * page. Everything else on the disk has no id, and so no address.
 */
export function createOutings(files: Files, given: { outing: string | null; cards: readonly string[]; home: string }) {
  const home = resolve(given.outing === null ? given.home : dirname(resolve(given.outing)))
  const opened = new Map<string, OpenedOuting>()

  function open(folder: string): OpenedOuting {
    const whole = resolve(folder)
    for (const o of opened.values()) if (o.folder === whole) return o
    const base = basename(whole).replace(/[^\p{L}\p{N}._-]+/gu, '-') || 'outing'
    let id = base
    for (let n = 2; opened.has(id); n++) id = `${base}-${n}`
    const entry = { id, folder: whole }
    opened.set(id, entry)
    return entry
  }
  if (given.outing !== null) open(given.outing)

  return {
    home,
    open,
    get(id: string): OpenedOuting {
      const found = opened.get(id)
      if (!found) throw new Failure('usage', 'no-such-outing', { wanted: id })
      return found
    },
    all: () => [...opened.values()],
    /** Looks again which outings there are: a demonstration in the home counts, foreign folders do not. */
    async list(): Promise<OutingEntry[]> {
      const demo = join(home, DEMO_FOLDER)
      if (await files.exists(join(demo, 'outing.json'))) open(demo)
      const entries: OutingEntry[] = []
      for (const { id, folder } of opened.values()) {
        if (!(await files.isDirectory(folder))) continue
        const { title, date } = await headOf(files, folder)
        entries.push({ id, folder, title: title ?? basename(folder), date })
      }
      return entries
    },
    /** A folder for a new outing in the home, by its title; a number is added where the name is taken. */
    async newFolder(title: string): Promise<string> {
      const base = title
        .normalize('NFC')
        .replace(/[^\p{L}\p{N} _-]+/gu, '')
        .trim()
        .replace(/\s+/g, '-')
        .slice(0, 60)
      let folder = join(home, base || 'outing')
      for (let n = 2; await files.exists(folder); n++) folder = join(home, `${base || 'outing'}-${n}`)
      return folder
    },
    /** Cards named at the start, and what is plugged in and looks like one. */
    async cards(): Promise<CardEntry[]> {
      const found = [...given.cards.map((c) => resolve(c)), ...(await pluggedIn())]
      const cards: CardEntry[] = []
      for (const folder of [...new Set(found)].slice(0, MOST_CARDS)) {
        const stills = await countStills(folder, 3)
        if (stills > 0 || given.cards.some((c) => resolve(c) === folder)) cards.push({ id: folder, folder, stills })
      }
      return cards
    },
    hasDemo: () => files.exists(join(home, DEMO_FOLDER, 'outing.json')),
  }
}

export type Outings = ReturnType<typeof createOutings>

async function headOf(files: Files, folder: string): Promise<{ title: string | null; date: string | null }> {
  try {
    const bytes = await files.readHead(join(folder, 'outing.json'), 1 << 20)
    const { title, date } = JSON.parse(new TextDecoder().decode(bytes)) as { title?: unknown; date?: unknown }
    return { title: typeof title === 'string' ? title : null, date: typeof date === 'string' ? date : null }
  } catch {
    return { title: null, date: null }
  }
}

const namesIn = (folder: string) =>
  readdir(folder, { withFileTypes: true }).then(
    (entries) => entries,
    () => [],
  )

/** Folders with a DCIM in them (the name that cameras give by the DCF standard), one or two levels below the mounts. */
async function pluggedIn(): Promise<string[]> {
  const found: string[] = []
  const look = async (folder: string, depth: number): Promise<void> => {
    const entries = await namesIn(folder)
    if (entries.some((e) => e.isDirectory() && e.name.toUpperCase() === 'DCIM')) {
      found.push(folder)
      return
    }
    if (depth > 0) for (const e of entries) if (e.isDirectory()) await look(join(folder, e.name), depth - 1)
  }
  for (const mount of MOUNTS) await look(mount, 2)
  return found
}

async function countStills(folder: string, depth: number): Promise<number> {
  const entries = await namesIn(folder)
  let n = entries.filter((e) => e.isFile() && STILL.test(e.name)).length
  if (depth > 0)
    for (const e of entries)
      if (e.isDirectory() && !e.name.startsWith('.')) n += await countStills(join(folder, e.name), depth - 1)
  return n
}
