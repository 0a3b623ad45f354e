import { Failure } from '#core/base'
import type { Crew } from '#core/kernels'
import { type DecodeJob, decodeMany } from '#picture/raw'

/** Decodes a batch together; when one of it is damaged, finds out which, one at a time. Returns those that came through. */
export async function decodeBatch<T extends { readonly job: DecodeJob }>(
  crew: Crew,
  batch: readonly T[],
  damaged: (one: T, failure: Failure) => void,
): Promise<T[]> {
  try {
    await decodeMany(
      crew,
      batch.map((b) => b.job),
    )
    return [...batch]
  } catch (error) {
    if (!(error instanceof Failure)) throw error
  }
  const good: T[] = []
  for (const b of batch) {
    try {
      await decodeMany(crew, [b.job])
      good.push(b)
    } catch (error) {
      if (!(error instanceof Failure)) throw error
      damaged(b, error)
    }
  }
  return good
}
