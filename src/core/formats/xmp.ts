import { SaxesParser } from 'saxes'
import { Failure, malformed, overLimit } from '#core/base'
import { utf8Text } from './text.ts'

const MAX_BYTES = 1024 * 1024
const MAX_DEPTH = 64
const MAX_PROPERTIES = 4096
const MAX_VALUE = 4096

/** Simple properties of an XMP packet by local name: vendors put the same facts under namespaces of their own. */
export type XmpProperties = ReadonlyMap<string, string>

const localName = (name: string) => name.slice(name.indexOf(':') + 1)

/**
 * Reads an XMP packet (ISO 16684-1: RDF in XML): attributes, and elements that hold only text. The first value of a
 * local name counts. Entities other than XML's own five are an error, so nothing expands.
 * @throws malformed "xmp-malformed"; limit "xmp-too-large" (1 MiB, 64 levels, 4096 properties)
 */
export function readXmp(bytes: Uint8Array): XmpProperties {
  if (bytes.length > MAX_BYTES) throw overLimit('xmp-too-large', { foundBytes: bytes.length, limit: MAX_BYTES })
  const end = bytes.indexOf(0)
  const text = utf8Text(end < 0 ? bytes : bytes.subarray(0, end))
  if (text === null) throw malformed('xmp-malformed', { found: 'not UTF-8' })
  const found = new Map<string, string>()
  const keep = (name: string, value: string) => {
    const local = localName(name)
    const trimmed = value.trim()
    if (trimmed === '' || trimmed.length > MAX_VALUE || found.has(local)) return
    if (found.size >= MAX_PROPERTIES) throw overLimit('xmp-too-large', { limit: MAX_PROPERTIES })
    found.set(local, trimmed)
  }
  // One entry an open element: its text so far, or null once it has a child.
  const open: (string | null)[] = []
  const parser = new SaxesParser()
  parser.on('opentag', (tag) => {
    if (open.length >= MAX_DEPTH) throw overLimit('xmp-too-large', { limit: MAX_DEPTH })
    if (open.length > 0) open[open.length - 1] = null
    open.push('')
    for (const [name, value] of Object.entries(tag.attributes)) if (!name.startsWith('xmlns')) keep(name, value)
  })
  const addText = (piece: string) => {
    const last = open.length - 1
    const before = open[last]
    if (typeof before === 'string' && before.length <= MAX_VALUE) open[last] = before + piece
  }
  parser.on('text', addText)
  parser.on('cdata', addText)
  parser.on('closetag', (tag) => {
    const value = open.pop()
    if (typeof value === 'string') keep(tag.name, value)
  })
  try {
    parser.write(text.trimStart()).close()
  } catch (error) {
    if (error instanceof Failure) throw error
    throw malformed('xmp-malformed', { found: error instanceof Error ? error.message.slice(0, 200) : 'error' })
  }
  return found
}
