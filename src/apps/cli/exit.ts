import type { Failure, FailureKind } from '#core/base'

/** What the shell is told. */
export const exit = { done: 0, fellShort: 1, usage: 2, input: 3, fault: 70, interrupted: 130 } as const

const codes: Record<FailureKind, number> = {
  malformed: exit.input,
  unsupported: exit.input,
  limit: exit.input,
  io: exit.input,
  usage: exit.usage,
  aborted: exit.interrupted,
}

export const exitCodeOf = (failure: Failure): number => codes[failure.kind]

/** Files that never claimed to be pictures are listed, but nothing fell short because of them. */
const EXPECTED = new Set(['not-a-still'])

export const exitCodeFor = (leftOut: readonly { readonly reason: string }[]): number =>
  leftOut.some((l) => !EXPECTED.has(l.reason)) ? exit.fellShort : exit.done
