import { type DngPacking, packSegment, segmentCount } from '#core/formats'
import type { Address, Crew, TaskContext } from '#core/kernels'

interface PackParams {
  readonly mosaic: Address
  readonly width: number
  readonly height: number
  readonly bitsPerSample: number
  readonly littleEndian: boolean
  readonly packing: DngPacking
  readonly lengths: Address
  readonly slots: Address
  readonly slotBytes: number
}

/**
 * The strips or tiles of a mosaic in the crew's memory, packed on all threads. The bytes are views of the crew's memory
 * above the caller's mark: use them, then release.
 */
export async function packMosaic(
  crew: Crew,
  frame: Omit<PackParams, 'lengths' | 'slots' | 'slotBytes'>,
): Promise<Uint8Array[]> {
  const count = segmentCount(frame.width, frame.height, frame.packing)
  // Noise cannot be packed: a little over the plain size is the worst that a tile or strip can take.
  const samples = 'tile' in frame.packing ? frame.packing.tile ** 2 : frame.width * 64
  const slotBytes = Math.ceil((samples * 2.5 + 4096) / 64) * 64
  const lengths = crew.arena.alloc(count * 4)
  const slots = crew.arena.alloc(count * slotBytes)
  const params: PackParams = { ...frame, lengths, slots, slotBytes }
  await crew.run('simulate.pack', params, count)
  return Array.from(crew.arena.u32(lengths, count), (n, i) => crew.arena.u8(slots + i * slotBytes, n))
}

export function packTask({ memory }: TaskContext, p: PackParams, item: number): void {
  const { width, height, bitsPerSample, littleEndian } = p
  const samples = memory.u16(p.mosaic, width * height)
  const bytes = packSegment({ width, height, samples, bitsPerSample, littleEndian }, p.packing, item)
  memory.u8(p.slots + item * p.slotBytes, bytes.length).set(bytes)
  memory.u32(p.lengths + item * 4, 1)[0] = bytes.length
}
