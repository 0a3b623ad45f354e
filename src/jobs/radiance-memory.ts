import type { Address, Arena } from '#core/kernels'

/** Bytes of files that are read at a time while as many are decoded; a larger file is held alone. */
export const FILE_BATCH_BYTES = 28 * 1024 * 1024
const SPARE_BYTES = 24 * 1024 * 1024

/**
 * How the shared memory serves one bracket. At the bottom lies a pool that first holds the decoded frames and, once
 * they are merged, the planes of the picture; above it come and go files, reduced pictures, and the merged mosaic.
 */
export interface MemoryNeed {
  readonly frames: number
  readonly pixels: number
  /** u16 samples a pixel of one decoded frame: 1 mosaic, 3 planes. */
  readonly samples: 1 | 3
  readonly largestFileBytes: number
}

const poolBytes = ({ frames, pixels, samples }: MemoryNeed) =>
  Math.max(2 * samples * frames, 16) * pixels + (frames + 8) * 256

export function bytesNeeded(need: MemoryNeed): number {
  const { frames, pixels, samples, largestFileBytes } = need
  const files = 2 * (Math.max(FILE_BATCH_BYTES, largestFileBytes) + 4096) + (samples === 3 ? 6 * pixels : 0)
  // A third over the half-size pictures for the rest of their pyramids, then cells.
  const reduced = 1.4 * frames * pixels + frames * samples * pixels * 0.1
  const merged = 4 * (samples + 1) * pixels + 0.1 * pixels
  // Variance (and planes that stay), two files being written, a 16-bit print and a preview.
  const finishing = (samples === 3 ? merged : 4 * pixels) + 10 * pixels + 6 * pixels + 6 * pixels
  return Math.ceil(poolBytes(need) + Math.max(files, reduced, finishing) + SPARE_BYTES)
}

export interface Pool {
  /** Where each frame is decoded to. */
  readonly frames: readonly Address[]
  /** Four f32 planes in the same memory, for when the frames are no longer needed. */
  readonly planes: readonly [Address, Address, Address, Address]
}

export function layPool(arena: Arena, need: MemoryNeed): Pool {
  const at = arena.alloc(poolBytes(need))
  const aligned = (bytes: number) => Math.ceil(bytes / 64) * 64 + 64
  const frameBytes = aligned(2 * need.samples * need.pixels)
  const planeBytes = aligned(4 * need.pixels)
  return {
    frames: Array.from({ length: need.frames }, (_, k) => at + k * frameBytes),
    planes: [at, at + planeBytes, at + 2 * planeBytes, at + 3 * planeBytes],
  }
}
