/**
 * When to be where, for visits in a given order that cannot come faster than one after the other: arrivals that are together as
 * near as can be to the moments wished for. With the time that ways and earlier visits take subtracted, it is a fit of a rising
 * line of steps in least absolute deviations: pool adjacent violators (Ayer et al. 1955), each block at its lower median.
 * Built up visit by visit, because a search grows orders that way; the deviation of a beginning never exceeds the whole's.
 */
export class Wishes {
  /** One row a depth: the wishes of each block, sorted within the block. */
  private readonly wishes: Float64Array[]
  private readonly starts: Uint8Array[]
  private readonly blocks: Uint8Array

  constructor(most: number) {
    this.wishes = Array.from({ length: most + 1 }, () => new Float64Array(most))
    this.starts = Array.from({ length: most + 1 }, () => new Uint8Array(most + 1))
    this.blocks = new Uint8Array(most + 1)
  }

  /** Adds a wish (its own moment less the time before it) as number `depth` (from 0), after those already set below that depth. */
  add(depth: number, wish: number): void {
    const row = this.wishes[depth + 1]!
    const starts = this.starts[depth + 1]!
    row.set(this.wishes[depth]!)
    starts.set(this.starts[depth]!)
    let last = this.blocks[depth]!
    row[depth] = wish
    starts[last] = depth
    const end = depth + 1
    while (last > 0) {
      const start = starts[last]!
      const before = starts[last - 1]!
      if (median(row, before, start) <= median(row, start, end)) break
      sort(row, before, end)
      last--
    }
    starts[last + 1] = end
    this.blocks[depth + 1] = last + 1
  }

  /** Whether the first `count` all get the same: then there is no waiting between them. */
  together(count: number): boolean {
    return this.blocks[count]! <= 1
  }

  /** The summed distance of the first `count` wishes from what they get. */
  deviation(count: number): number {
    const row = this.wishes[count]!
    const starts = this.starts[count]!
    let sum = 0
    for (let b = 0; b < this.blocks[count]!; b++) {
      const [start, end] = [starts[b]!, starts[b + 1]!]
      const middle = median(row, start, end)
      for (let i = start; i < end; i++) sum += Math.abs(row[i]! - middle)
    }
    return sum
  }

  /** What the first `count` wishes get, in order; add the time before each to have its moment. */
  granted(count: number): Float64Array {
    const row = this.wishes[count]!
    const starts = this.starts[count]!
    const out = new Float64Array(count)
    for (let b = 0; b < this.blocks[count]!; b++)
      out.fill(median(row, starts[b]!, starts[b + 1]!), starts[b]!, starts[b + 1]!)
    return out
  }
}

const median = (row: Float64Array, start: number, end: number) => row[start + ((end - start - 1) >> 1)]!

function sort(row: Float64Array, start: number, end: number): void {
  for (let i = start + 1; i < end; i++) {
    const value = row[i]!
    let at = i
    for (; at > start && row[at - 1]! > value; at--) row[at] = row[at - 1]!
    row[at] = value
  }
}
