/**
 * What operating systems leave on every card they see: search indexes, waste baskets, folder settings, picture caches.
 * Names from practice, no source. Anything not listed counts as written by the camera or the photographer and is copied.
 */
const FOLDERS = new Set([
  '.trashes',
  '.spotlight-v100',
  '.fseventsd',
  '.temporaryitems',
  '.documentrevisions-v100',
  'system volume information',
  '$recycle.bin',
  'recycler',
])
const FILES = new Set([
  '.ds_store',
  '.apdisk',
  '.volumeicon.icns',
  '.com.apple.timemachine.donotpresent',
  '.metadata_never_index',
  'thumbs.db',
  'ehthumbs.db',
  'desktop.ini',
])

/** Whether a name on a card is an operating system's own and not a picture or anything that belongs to one. */
export function isSystemName(name: string, kind: 'file' | 'folder'): boolean {
  const lower = name.toLowerCase()
  if (kind === 'folder') return FOLDERS.has(lower) || /^\.trash-\d+$/.test(lower)
  // "._NAME" holds what a disk without room for it could not say about NAME.
  return FILES.has(lower) || lower.startsWith('._')
}
