import { describe, expect, it } from 'vitest'
import { isSystemName } from './system-files.ts'

describe('what an operating system leaves on a card', () => {
  it.each(['.Trashes', '.Spotlight-V100', '.fseventsd', 'System Volume Information', '$RECYCLE.BIN', '.Trash-1000'])(
    'is told by the name of the folder %s, which as a file is anybody’s',
    (name) => expect([isSystemName(name, 'folder'), isSystemName(name, 'file')]).toEqual([true, false]),
  )

  it.each(['.DS_Store', 'Thumbs.db', 'THUMBS.DB', 'desktop.ini', '._DUSK_0001.DNG'])(
    'is told by the file name %s',
    (name) => expect(isSystemName(name, 'file')).toBe(true),
  )

  it.each([
    'DUSK_0001.DNG',
    'DUSK_0001.THM',
    'MISC.IDX',
    '.hidden',
    'thumbs',
    'Thumbs.dbx',
    'autorun.inf',
    'FOUND.000',
  ])('is not %s: the camera or the photographer may have written it', (name) =>
    expect([isSystemName(name, 'file'), isSystemName(name, 'folder')]).toEqual([false, false]),
  )
})
