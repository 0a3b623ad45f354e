import { Failure } from '#core/base'
import { utf8Text } from '#core/formats'
import { lantern } from '#picture/simulate'
import type { Files } from './contract/index.ts'
import { demoCameraName } from './demo-evening.ts'

/**
 * Passes when a demonstration may be written there: nothing is there yet, an empty folder, or an earlier demonstration
 * whose originals are all of the demonstration's own making. Nothing of anybody's is ever written over.
 * @throws Failure io "not-a-folder", "folder-not-empty"
 */
export async function requireDemoFolder(files: Files, directory: string): Promise<void> {
  if (!(await files.exists(directory))) return
  if (!(await files.isDirectory(directory))) throw new Failure('io', 'not-a-folder', { path: directory })
  // What a file manager leaves for itself (a name with a dot in front) is nothing of the user's.
  const entries = (await files.list(directory)).filter((e) => !e.name.startsWith('.'))
  if (entries.length === 0) return
  if (!(await saysDemonstration(files, files.join(directory, 'outing.json')))) throw notFree(directory)
  const originals = files.join(directory, 'originals')
  if (!(await files.isDirectory(originals))) return
  const foreign = (await files.list(originals)).some((e) => !/^(DUSK_\d{4}\.(DNG|JPG)|\..*)$/.test(e.name))
  if (foreign) throw notFree(directory)
}

const notFree = (path: string) => new Failure('io', 'folder-not-empty', { path })

/** The demonstration's camera does not exist: no real outing can have been made with it. */
async function saysDemonstration(files: Files, path: string): Promise<boolean> {
  if (!(await files.exists(path)) || (await files.isDirectory(path))) return false
  try {
    const { camera } = JSON.parse(utf8Text(await files.read(path)) ?? 'null') as {
      camera?: { name?: unknown; make?: unknown; model?: unknown }
    }
    // The first demonstrations stated maker and model apart.
    return camera?.name === demoCameraName || (camera?.make === lantern.make && camera.model === lantern.model)
  } catch {
    return false
  }
}
