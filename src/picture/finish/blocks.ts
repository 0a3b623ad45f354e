import { type Address, type Crew, halfFromFloat, type Task } from '#core/kernels'

/** f32 planes to be laid out row by row, one block a row: some bytes of header, then each plane's row as halves or floats. */
export interface BlockRequest {
  readonly width: number
  readonly height: number
  /** f32, width × height each. */
  readonly planes: readonly { readonly at: Address; readonly offset: number; readonly type: 'half' | 'float' }[]
  /** Even; each block starts with two i32: the row number and the bytes after them. */
  readonly blockBytes: number
}

interface BlockParams extends BlockRequest {
  readonly out: Address
}

const ROWS = 64

export const blocksTask: Task = ({ kernels, memory }, p: BlockParams, item) => {
  for (let y = item * ROWS; y < Math.min(p.height, (item + 1) * ROWS); y++) {
    const block = p.out + y * p.blockBytes
    // Two bytes at a time: a block's start is even but not always a multiple of four.
    memory.u16(block, 4).set([y & 0xffff, y >>> 16, (p.blockBytes - 8) & 0xffff, (p.blockBytes - 8) >>> 16])
    for (const plane of p.planes) {
      const row = plane.at + y * p.width * 4
      if (plane.type === 'half') halfRow(kernels, memory, row, block + plane.offset, p.width)
      else memory.u8(block + plane.offset, p.width * 4).set(memory.u8(row, p.width * 4))
    }
  }
}

/** The kernel stores whole vectors; what it would write past the row belongs to the next one, maybe another thread's. */
function halfRow(
  kernels: Parameters<Task>[0]['kernels'],
  memory: Parameters<Task>[0]['memory'],
  from: Address,
  to: Address,
  width: number,
): void {
  const whole = width & ~7
  kernels.floatToHalf(from, to, whole)
  if (whole === width) return
  const rest = memory.f32(from + whole * 4, width - whole)
  const out = memory.u16(to + whole * 2, width - whole)
  rest.forEach((v, i) => {
    out[i] = halfFromFloat(v)
  })
}

/** Lays the blocks at `out`, which takes blockBytes × height. */
export async function layBlocks(crew: Crew, request: BlockRequest, out: Address): Promise<void> {
  await crew.run('finish.blocks', { ...request, out } satisfies BlockParams, Math.ceil(request.height / ROWS))
}
