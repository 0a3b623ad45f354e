/**
 * Code lengths of an optimal Huffman code no longer than `limit` bits, by package-merge (Larmore, Hirschberg 1990).
 * One code word is kept free: the word of all ones, which ITU-T T.81 clause C.2 forbids, goes to a stand-in of weight 0.
 * Shape: `weights` by symbol, ≥ 0; symbols of weight 0 get length 0 (no code). At least one weight must be positive and
 * the positive ones must be fewer than 2^limit.
 */
export function huffmanLengths(weights: ArrayLike<number>, limit: number): Uint8Array {
  const STAND_IN = -1
  const leaves: Package[] = [{ weight: 0, symbols: [STAND_IN] }]
  for (let s = 0; s < weights.length; s++) if (weights[s]! > 0) leaves.push({ weight: weights[s]!, symbols: [s] })
  leaves.sort((a, b) => a.weight - b.weight)
  let row = leaves
  for (let bit = 1; bit < limit; bit++) {
    const pairs: Package[] = []
    for (let i = 0; i + 1 < row.length; i += 2) {
      const a = row[i]!
      const b = row[i + 1]!
      pairs.push({ weight: a.weight + b.weight, symbols: [...a.symbols, ...b.symbols] })
    }
    row = [...leaves, ...pairs].sort((a, b) => a.weight - b.weight)
  }
  const lengths = new Uint8Array(weights.length)
  for (const { symbols } of row.slice(0, 2 * leaves.length - 2))
    for (const s of symbols) if (s !== STAND_IN) lengths[s] = lengths[s]! + 1
  return lengths
}

interface Package {
  readonly weight: number
  readonly symbols: readonly number[]
}
