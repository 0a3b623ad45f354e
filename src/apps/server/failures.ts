import { Failure, type FailureKind } from '#core/base'
import { type SaidFailure, sentenceFor } from '#jobs/contract'

const statuses: Readonly<Record<FailureKind, number>> = {
  malformed: 422,
  unsupported: 422,
  limit: 413,
  io: 409,
  usage: 400,
  aborted: 409,
}

const special: Readonly<Record<string, number>> = {
  'not-allowed': 403,
  'no-such-page': 404,
  'no-such-outing': 404,
  'no-such-job': 404,
  'no-such-picture': 404,
  'not-found': 404,
  'too-many-requests': 503,
  'job-waits': 503,
  'changed-meanwhile': 412,
}

export const statusOf = ({ kind, code }: Failure): number => special[code] ?? statuses[kind]

/** A failure with its sentence; a fault of ours says so and keeps its stack to the terminal. */
export function said(error: unknown): SaidFailure {
  if (error instanceof Failure) {
    const { kind, code, facts } = error
    return { kind, code, facts, sentence: sentenceFor(error) }
  }
  return {
    kind: 'fault',
    code: 'fault',
    facts: { message: error instanceof Error ? error.message : String(error) },
    sentence: 'A fault of the program, not of your files; please report it with what the terminal says.',
  }
}
