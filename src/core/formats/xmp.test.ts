import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { Failure } from '#core/base'
import { failureOf } from '../../../test/tiff-bytes.ts'
import { utf8Bytes } from './text.ts'
import { readXmp } from './xmp.ts'

const packet = (inside: string) =>
  utf8Bytes(`<?xpacket begin="\ufeff" id="W5M0MpCehiHzreSzNTczkc9d"?>
<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">${inside}</rdf:RDF></x:xmpmeta>
<?xpacket end="w"?>`)

describe('an XMP packet', () => {
  it('gives attributes and simple elements by local name, whatever the namespace', () => {
    const found = readXmp(
      packet(`<rdf:Description rdf:about="" xmlns:a="http://one.example/" a:RelativeAltitude="+40.10">
        <a:GimbalPitchDegree> -89.90 </a:GimbalPitchDegree></rdf:Description>`),
    )
    expect(found.get('RelativeAltitude')).toBe('+40.10')
    expect(found.get('GimbalPitchDegree')).toBe('-89.90')
    expect(found.has('Description')).toBe(false)
  })

  it('reads names whose prefix was never declared', () => {
    expect(readXmp(packet('<rdf:Description q:FlightYawDegree="12"/>')).get('FlightYawDegree')).toBe('12')
  })

  it('keeps the first of two values, and ignores zero bytes after the packet', () => {
    const bytes = packet('<rdf:Description a:Z="1"/><rdf:Description b:Z="2"/>')
    expect(readXmp(Uint8Array.from([...bytes, 0, 0, 0])).get('Z')).toBe('1')
  })

  it('expands no entities: declaring one makes the packet malformed', () => {
    const bomb = utf8Bytes('<!DOCTYPE x [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;&a;">]><x><y>&b;</y></x>')
    expect(failureOf(() => readXmp(bomb)).code).toBe('xmp-malformed')
  })

  it.each([
    ['an unclosed element', '<x><y></x>'],
    ['no element', 'no xml at all'],
    ['a cut packet', '<x a="1'],
  ])('calls %s malformed', (_, text) => {
    expect(failureOf(() => readXmp(utf8Bytes(text)))).toMatchObject({ kind: 'malformed', code: 'xmp-malformed' })
  })

  it('has limits of size and depth', () => {
    expect(failureOf(() => readXmp(new Uint8Array(1024 * 1024 + 1))).code).toBe('xmp-too-large')
    expect(failureOf(() => readXmp(utf8Bytes('<a>'.repeat(100)))).code).toBe('xmp-too-large')
  })

  it('throws nothing but Failures on a packet with any stretch overwritten', () => {
    const good = packet(
      '<rdf:Description rdf:about="" a:RelativeAltitude="+40.10"><b:C><![CDATA[x]]></b:C></rdf:Description>',
    )
    fc.assert(
      fc.property(fc.nat(good.length - 1), fc.uint8Array({ maxLength: 12 }), (at, junk) => {
        const bytes = good.slice()
        bytes.set(junk.subarray(0, bytes.length - at), at)
        try {
          readXmp(bytes)
        } catch (error) {
          expect(error).toBeInstanceOf(Failure)
        }
      }),
      { numRuns: 2000, seed: 5 },
    )
  })
})
