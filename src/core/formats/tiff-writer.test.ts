import { describe, expect, it } from 'vitest'
import { rationals, writeTiff } from './tiff-writer.ts'

const hex = (bytes: Uint8Array) => Array.from(bytes, (b) => b.toString(16).padStart(2, '0')).join('')

// Laid out by hand from TIFF 6.0 section 2: header, entry count, 12-byte entries in ascending order, next offset,
// then values longer than four bytes, then pixels.
describe('TIFF written', () => {
  it('little-endian: short values stand left-justified in the entry, longer ones after the table', () => {
    const bytes = writeTiff([
      {
        fields: [
          { tag: 282, type: 'rational', values: rationals([0.5], 10) },
          { tag: 256, type: 'short', values: [3] },
        ],
        segments: { offsetsTag: 273, countsTag: 279, segments: [Uint8Array.of(7, 8, 9)] },
      },
    ])
    expect(hex(bytes)).toBe(
      [
        '49492a0008000000',
        '0400',
        '000103000100000003000000',
        '110104000100000046000000',
        '170104000100000003000000',
        '1a010500010000003e000000',
        '00000000',
        '050000000a000000',
        '07080900',
      ].join(''),
    )
  })

  it('big-endian: directories chain, children are pointed to, negative parts are two’s complement', () => {
    const bytes = writeTiff(
      [
        {
          fields: [{ tag: 271, type: 'ascii', text: 'Ab' }],
          children: [{ tag: 330, directories: [{ fields: [{ tag: 256, type: 'srational', values: [-1, 2] }] }] }],
        },
        { fields: [{ tag: 256, type: 'sshort', values: [-2, 1] }] },
      ],
      { littleEndian: false },
    )
    expect(hex(bytes)).toBe(
      [
        '4d4d002a00000008',
        '0002',
        '010f00020000000341620000',
        '014a00040000000100000026',
        '00000040',
        // The child, then its value.
        '0001',
        '0100000a0000000100000038',
        '00000000',
        'ffffffff00000002',
        // The second directory.
        '0001',
        '0100000800000002fffe0001',
        '00000000',
      ].join(''),
    )
  })
})
