import { join } from 'node:path'
import { Failure } from '#core/base'
import { group } from '#jobs'
import type { ChangeRequest, Host, LooksDocument } from '#jobs/contract'
import { looksSchema } from '#jobs/schemas'
import { documentOf, tagOf, textOf } from './documents.ts'
import type { History } from './history.ts'
import type { OpenedOuting } from './outings.ts'

const json = (value: unknown) => `${JSON.stringify(value, null, 2)}\n`

/**
 * Changes the page makes to an outing's documents, one at a time, so that two windows cannot write between each other's
 * reading and writing. @throws Failure usage "changed-meanwhile", "nothing-to-undo", and what the jobs refuse
 */
export function createChanges(host: Host, history: History) {
  const { files } = host
  const turns = new Map<string, Promise<unknown>>()

  async function change({ id, folder }: OpenedOuting, asked: ChangeRequest): Promise<void> {
    switch (asked.change) {
      case 'undo':
        return history.undo(id, folder)
      case 'redo':
        return history.redo(id, folder)
      case 'outing': {
        const path = join(folder, 'outing.json')
        const found = await textOf(files, path)
        const tag = found === null ? null : tagOf(found)
        if (tag !== asked.tag) throw new Failure('usage', 'changed-meanwhile', { file: 'outing.json' })
        return history.remember(id, folder, 'outing.json', asked.words, () => files.write(path, json(asked.document)))
      }
      case 'join':
        return regroup(id, folder, 'joining', { join: [asked.parts] })
      case 'split':
        return regroup(id, folder, 'splitting', { split: [{ bracket: asked.bracket, before: asked.before }] })
      case 'look':
        return look(id, folder, asked)
    }
  }

  const regroup = (id: string, folder: string, words: string, asked: Parameters<typeof group>[2]): Promise<void> =>
    history.remember(id, folder, 'corrections.json', words, async () => {
      await group(host, folder, asked)
    })

  async function look(id: string, folder: string, { bracket, settings }: Extract<ChangeRequest, { change: 'look' }>) {
    const found = await documentOf(files, folder, 'looks.json', looksSchema, [])
    const looks = { ...(found?.value.looks ?? {}) }
    if (settings === null) delete looks[bracket]
    else looks[bracket] = settings
    const document: LooksDocument = { schema: 'looks/1', looks }
    await history.remember(id, folder, 'looks.json', `the look of ${bracket}`, () =>
      files.write(join(folder, 'looks.json'), json(document)),
    )
  }

  return {
    apply(outing: OpenedOuting, asked: ChangeRequest): Promise<void> {
      const work = () => change(outing, asked)
      const next = (turns.get(outing.id) ?? Promise.resolve()).then(work, work)
      turns.set(
        outing.id,
        next.catch(() => {}),
      )
      return next
    },
  }
}

export type Changes = ReturnType<typeof createChanges>
