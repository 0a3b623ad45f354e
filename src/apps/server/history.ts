import { join } from 'node:path'
import { Failure } from '#core/base'
import type { Files } from '#jobs/contract'
import { tagOf, textOf } from './documents.ts'

/** Changes that can be taken back, an outing. */
const MOST = 200

interface Step {
  readonly words: string
  readonly file: string
  readonly before: string | null
  readonly after: string | null
}

/** What the page changed in an outing's documents since the program started, to be taken back and done again. */
export function createHistory(files: Files) {
  const past = new Map<string, Step[]>()
  const future = new Map<string, Step[]>()
  const of = (steps: Map<string, Step[]>, id: string) => {
    const found = steps.get(id) ?? []
    steps.set(id, found)
    return found
  }

  async function put(path: string, text: string | null): Promise<void> {
    if (text === null) await files.remove(path)
    else await files.write(path, text)
  }

  async function swap(id: string, folder: string, from: Map<string, Step[]>, to: Map<string, Step[]>, back: boolean) {
    const step = of(from, id).at(-1)
    if (!step) throw new Failure('usage', 'nothing-to-undo', {})
    const path = join(folder, step.file)
    const found = await textOf(files, path)
    const expected = back ? step.after : step.before
    // Something else wrote it since: its words are kept, and what was to be taken back is not known any more.
    if ((found === null) !== (expected === null) || (found !== null && tagOf(found) !== tagOf(expected!))) {
      from.delete(id)
      throw new Failure('usage', 'changed-meanwhile', { file: step.file })
    }
    await put(path, back ? step.before : step.after)
    of(from, id).pop()
    of(to, id).push(step)
  }

  return {
    /** Runs a change that writes one document, and remembers how that stood before and after. */
    async remember<T>(id: string, folder: string, file: string, words: string, change: () => Promise<T>): Promise<T> {
      const path = join(folder, file)
      const before = await textOf(files, path)
      const result = await change()
      const after = await textOf(files, path)
      if (before !== after) {
        const steps = of(past, id)
        const last = steps.at(-1)
        // A hand that moves a rung makes many small changes: those of the same words within the same hold are one.
        if (last && last.words === words && last.file === file && words.startsWith('the look') && last.after === before)
          steps[steps.length - 1] = { ...last, after }
        else steps.push({ words, file, before, after })
        if (steps.length > MOST) steps.shift()
        future.delete(id)
      }
      return result
    },
    undo: (id: string, folder: string) => swap(id, folder, past, future, true),
    redo: (id: string, folder: string) => swap(id, folder, future, past, false),
    words: (id: string) => ({
      undo: past.get(id)?.at(-1)?.words ?? null,
      redo: future.get(id)?.at(-1)?.words ?? null,
    }),
  }
}

export type History = ReturnType<typeof createHistory>
