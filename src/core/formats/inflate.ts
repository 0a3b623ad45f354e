import { Unzlib } from 'fflate'
import { Failure, malformed, overLimit } from '#core/base'

/** Bytes fed at a time: deflate expands at most 1032-fold, so that a bomb is noticed 16 MiB past the limit at the latest. */
const STEP = 16384

/**
 * Inflates a zlib stream (RFC 1950) that must yield no more than `limit` bytes. Throws `limit` when it would yield more
 * and `malformed` when it is damaged or ends early.
 */
export function inflateBounded(bytes: Uint8Array, limit: number): Uint8Array {
  const out = new Uint8Array(limit)
  let length = 0
  const stream = new Unzlib((chunk) => {
    if (length + chunk.length > limit) throw overLimit('deflate-output', { limitBytes: limit })
    out.set(chunk, length)
    length += chunk.length
  })
  try {
    // The last step is never shorter than the checksum at the stream's end, which must arrive whole.
    for (let at = 0; at < bytes.length; ) {
      const next = bytes.length - at < STEP + 64 ? bytes.length : at + STEP
      stream.push(bytes.subarray(at, next), next === bytes.length)
      at = next
    }
  } catch (error) {
    if (error instanceof Failure) throw error
    throw malformed('deflate-damaged', { reason: error instanceof Error ? error.message : '' })
  }
  if (bytes.length === 0) throw malformed('deflate-damaged', { reason: 'no data' })
  return out.subarray(0, length)
}
