/** Joins code points without building one argument list of a million numbers. */
function fromCodePoints(points: readonly number[]): string {
  let text = ''
  for (let i = 0; i < points.length; i += 4096) text += String.fromCodePoint(...points.slice(i, i + 4096))
  return text
}

/**
 * UTF-8 (RFC 3629) to text, a leading byte order mark dropped; null when the bytes are not valid UTF-8: overlong forms,
 * surrogates, values above U+10FFFF and cut sequences are all refused.
 */
export function utf8Text(bytes: Uint8Array): string | null {
  const points: number[] = []
  let i = bytes[0] === 0xef && bytes[1] === 0xbb && bytes[2] === 0xbf ? 3 : 0
  while (i < bytes.length) {
    const lead = bytes[i++]!
    if (lead < 0x80) {
      points.push(lead)
      continue
    }
    const more =
      lead >= 0xc2 && lead <= 0xdf ? 1 : lead >= 0xe0 && lead <= 0xef ? 2 : lead >= 0xf0 && lead <= 0xf4 ? 3 : 0
    if (more === 0) return null
    let point = lead & (0x3f >> more)
    for (let k = 0; k < more; k++) {
      const next = bytes[i++]
      if (next === undefined || (next & 0xc0) !== 0x80) return null
      point = (point << 6) | (next & 0x3f)
    }
    const smallest = more === 1 ? 0x80 : more === 2 ? 0x800 : 0x10000
    if (point < smallest || point > 0x10ffff || (point >= 0xd800 && point <= 0xdfff)) return null
    points.push(point)
  }
  return fromCodePoints(points)
}

/** Text to UTF-8; lone surrogates become U+FFFD. */
export function utf8Bytes(text: string): Uint8Array {
  const out: number[] = []
  for (const character of text) {
    let point = character.codePointAt(0)!
    if (point >= 0xd800 && point <= 0xdfff) point = 0xfffd
    if (point < 0x80) out.push(point)
    else if (point < 0x800) out.push(0xc0 | (point >> 6), 0x80 | (point & 63))
    else if (point < 0x10000) out.push(0xe0 | (point >> 12), 0x80 | ((point >> 6) & 63), 0x80 | (point & 63))
    else {
      out.push(0xf0 | (point >> 18), 0x80 | ((point >> 12) & 63), 0x80 | ((point >> 6) & 63), 0x80 | (point & 63))
    }
  }
  return Uint8Array.from(out)
}

/**
 * A TIFF or Exif text: up to the first zero byte, white space trimmed, control characters dropped. The standards ask for
 * ASCII; writers also use UTF-8 (Exif 3.0 allows it) and Latin-1, so both are read.
 */
export function tagText(bytes: Uint8Array): string {
  const end = bytes.indexOf(0)
  const used = end < 0 ? bytes : bytes.subarray(0, end)
  const text = utf8Text(used) ?? fromCodePoints([...used])
  return [...text]
    .filter((c) => c >= ' ' && c !== '\u007f')
    .join('')
    .trim()
}
