import { malformed } from '#core/base'
import type { Crew } from '#core/kernels'
import { decodeRaw, type RawFile } from '#picture/raw'
import type { Host } from './contract/index.ts'

/** Beside samples and file: tables, and the room of one segment that is larger than a worker's scratch. */
const SPARE_BYTES = 48 * 1024 * 1024

export interface PixelDigests {
  /**
   * MD5 (hex) of a raw file's samples: 16-bit little-endian, after the linearisation table, black not subtracted, the
   * whole raw area. @throws Failure when the file cannot be read or its data are damaged
   */
  of(path: string, raw: RawFile): Promise<string>
  close(): Promise<void>
}

/** One crew serves file after file; it is laid out anew only for a file that needs more memory. */
export function pixelDigests(host: Host): PixelDigests {
  let current: Crew | null = null
  let crewBytes = 0
  const crewOf = async (bytes: number): Promise<Crew> => {
    if (current !== null && bytes <= crewBytes) return current
    await current?.close()
    current = null
    const crew = await host.crew(bytes)
    current = crew
    crewBytes = bytes
    return crew
  }
  return {
    async of(path, raw) {
      const fileBytes = await host.files.size(path)
      const sampleBytes = 2 * raw.width * raw.height * raw.samplesPerPixel
      const crew = await crewOf(sampleBytes + fileBytes + SPARE_BYTES)
      const { arena } = crew
      const mark = arena.mark()
      try {
        const fileAt = arena.alloc(fileBytes)
        const found = await host.files.readInto(path, arena.u8(fileAt, fileBytes))
        if (found < fileBytes) throw malformed('file-cut-short', { wantedBytes: fileBytes, fileBytes: found })
        const samplesAt = arena.alloc(sampleBytes)
        await decodeRaw(crew, raw, fileAt, fileBytes, samplesAt)
        return host.md5(arena.u8(samplesAt, sampleBytes))
      } finally {
        arena.release(mark)
      }
    },
    async close() {
      await current?.close()
    },
  }
}
