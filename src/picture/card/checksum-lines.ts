/** A file's SHA-256 as the standard text form has it. */
export interface ChecksumLine {
  readonly sha256: string
  /** With forward slashes, relative to the folder that holds the list. */
  readonly path: string
}

const escapes: Readonly<Record<string, string>> = { '\\': '\\\\', '\n': '\\n', '\r': '\\r' }

/**
 * Lines "<64 hex digits>  <path>", sorted by path, as the usual checksum tools verify them. A path with a backslash or a
 * line break is escaped and its line begins with a backslash (GNU coreutils manual, md5sum invocation).
 */
export function checksumText(lines: Iterable<ChecksumLine>): string {
  return [...lines]
    .sort((a, b) => (a.path < b.path ? -1 : a.path > b.path ? 1 : 0))
    .map(({ sha256, path }) => {
      const escaped = path.replace(/[\\\n\r]/g, (c) => escapes[c]!)
      return `${escaped === path ? '' : '\\'}${sha256}  ${escaped}\n`
    })
    .join('')
}

/** The lines of such a text; what is no such line is passed over, so that a damaged list costs only what is damaged. */
export function checksumLines(text: string): ChecksumLine[] {
  const found: ChecksumLine[] = []
  for (const line of text.split('\n')) {
    const [, escaped, sha256, rest] = line.match(/^(\\?)([0-9a-fA-F]{64}) [ *](.+)$/s) ?? []
    if (sha256 === undefined || rest === undefined) continue
    const path = escaped ? unescaped(rest) : rest.replace(/\r$/, '')
    if (path) found.push({ sha256: sha256.toLowerCase(), path })
  }
  return found
}

/** Null when it ends in a lone backslash or has an escape that does not exist. */
function unescaped(text: string): string | null {
  if (!/^(?:[^\\]|\\[\\nr])*$/s.test(text)) return null
  return text.replace(/\\([\\nr])/g, (_, c: string) => (c === 'n' ? '\n' : c === 'r' ? '\r' : '\\'))
}
