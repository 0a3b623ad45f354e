import { Failure } from '#core/base'

/** What the operating system said, in our closed list of codes; anything else keeps the name of the attempt. */
const codes: Readonly<Record<string, string>> = {
  ENOENT: 'not-found',
  EACCES: 'no-permission',
  EPERM: 'no-permission',
  EROFS: 'read-only-disk',
  ENOSPC: 'no-space',
  EDQUOT: 'no-space',
  EISDIR: 'is-a-folder',
  ENOTDIR: 'not-a-folder',
  ENOTEMPTY: 'folder-not-empty',
  EMFILE: 'too-many-open-files',
  ENFILE: 'too-many-open-files',
  ENAMETOOLONG: 'name-too-long',
  ELOOP: 'link-loop',
  EFBIG: 'file-too-large-for-disk',
  ENODEV: 'disk-gone',
  ENXIO: 'disk-gone',
}

export type Attempt = 'list-failed' | 'read-failed' | 'write-failed' | 'make-folder-failed' | 'remove-failed'

/** A Node error as a Failure of kind io; the path and the system's own name for the error are among its facts. */
export function ioFailure(error: unknown, path: string, attempt: Attempt): Failure {
  if (error instanceof Failure) return error
  const errno = (error as NodeJS.ErrnoException | null)?.code ?? 'unknown'
  return new Failure('io', codes[errno] ?? attempt, { path, errno, attempt }, error)
}
