import { utf8Bytes } from './text.ts'

/**
 * What an XMP packet of ours says (ISO 16684-1): texts of the Dublin Core, and properties of other namespaces as
 * attributes. Nothing is ever copied from another packet.
 */
export interface XmpToWrite {
  /** dc:creator, dc:rights, dc:description; null or empty: not written. */
  readonly creator?: string | null
  readonly rights?: string | null
  readonly description?: string | null
  /** Attributes of the description, by prefixed name; every prefix is among `namespaces`. */
  readonly attributes?: Readonly<Record<string, string>>
  /** Elements of the description that are written already, such as structures. */
  readonly elements?: string
  readonly namespaces?: Readonly<Record<string, string>>
}

const escapes: Readonly<Record<string, string>> = { '&': '&amp;', '<': '&lt;', '>': '&gt;', '"': '&quot;' }
/** XML 1.0 allows no control characters but tab and line ends, nor lone surrogates (section 2.2). */
const forbidden = /(?![\t\n\r])\p{Cc}|[\ufffe\uffff]|\p{Cs}/gu

/** Text as it stands between XML tags or in quotes. */
export const xmlText = (text: string): string =>
  text.replace(forbidden, '').replace(/[&<>"]/g, (character) => escapes[character]!)

const given = (text: string | null | undefined): text is string => typeof text === 'string' && text.trim() !== ''

/** The packet as UTF-8 bytes, without padding: the files that hold it are written once. */
export function writeXmp(x: XmpToWrite): Uint8Array {
  const language = (name: string, text: string) =>
    `<dc:${name}><rdf:Alt><rdf:li xml:lang="x-default">${xmlText(text)}</rdf:li></rdf:Alt></dc:${name}>`
  const core = [
    given(x.creator) ? `<dc:creator><rdf:Seq><rdf:li>${xmlText(x.creator)}</rdf:li></rdf:Seq></dc:creator>` : '',
    given(x.rights) ? language('rights', x.rights) : '',
    given(x.description) ? language('description', x.description) : '',
  ].join('')
  const spaces = { ...(core === '' ? {} : { dc: 'http://purl.org/dc/elements/1.1/' }), ...x.namespaces }
  const names = Object.entries(spaces).map(([prefix, uri]) => ` xmlns:${prefix}="${xmlText(uri)}"`)
  const attributes = Object.entries(x.attributes ?? {}).map(([name, value]) => ` ${name}="${xmlText(value)}"`)
  return utf8Bytes(
    '<?xpacket begin="\ufeff" id="W5M0MpCehiHzreSzNTczkc9d"?>' +
      '<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">' +
      `<rdf:Description rdf:about=""${names.join('')}${attributes.join('')}>${core}${x.elements ?? ''}</rdf:Description>` +
      '</rdf:RDF></x:xmpmeta><?xpacket end="r"?>',
  )
}
