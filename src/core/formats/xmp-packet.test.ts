import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { readXmp } from './xmp.ts'
import { writeXmp } from './xmp-packet.ts'

describe('an XMP packet', () => {
  it('says texts in the Dublin Core, and attributes under their own name spaces', () => {
    const text = new TextDecoder().decode(
      writeXmp({
        creator: 'Å & B',
        rights: '© <2027>',
        description: 'a "weir"',
        attributes: { 'x:Version': '1.0' },
        namespaces: { x: 'http://x.invalid/' },
      }),
    )
    for (const part of [
      '<dc:creator><rdf:Seq><rdf:li>Å &amp; B</rdf:li></rdf:Seq></dc:creator>',
      '<dc:rights><rdf:Alt><rdf:li xml:lang="x-default">© &lt;2027&gt;</rdf:li></rdf:Alt></dc:rights>',
      'a &quot;weir&quot;',
      'xmlns:x="http://x.invalid/" x:Version="1.0"',
    ])
      expect(text).toContain(part)
  })

  it('says nothing that it was not given', () => {
    expect([...readXmp(writeXmp({ creator: '  ', rights: null })).keys()]).toEqual([])
  })

  it('is well-formed with any text, and gives it back but for what XML cannot hold', () => {
    fc.assert(
      fc.property(fc.string({ unit: 'binary', maxLength: 60 }), (creator) => {
        const found = readXmp(writeXmp({ creator })).get('li') ?? ''
        // XML reads line ends as one character, and has no others of the control characters.
        const plain = (s: string) =>
          s
            .replace(/\r\n?/g, '\n')
            .replace(/(?![\t\n])\p{Cc}|[\ufffe\uffff]|\p{Cs}/gu, '')
            .trim()
        expect(plain(found)).toBe(plain(creator))
      }),
    )
  })
})
