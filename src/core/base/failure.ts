/** What went wrong, as the caller must act on it. Anything that is none of these is a defect of ours and is not caught. */
export type FailureKind = 'malformed' | 'unsupported' | 'limit' | 'io' | 'usage' | 'aborted'

export type Facts = Readonly<Record<string, string | number | boolean | null | readonly (string | number)[]>>

/**
 * A named failure: data first, sentence later. `code` is stable and comes from the room's closed list; `facts` hold
 * what the sentence needs (tag, byte offset, expected, found, limit). The edge (command line, server) makes the sentence.
 */
export class Failure extends Error {
  readonly kind: FailureKind
  readonly code: string
  readonly facts: Facts

  constructor(kind: FailureKind, code: string, facts: Facts = {}, cause?: unknown) {
    super(`${kind}: ${code} ${JSON.stringify(facts)}`, cause === undefined ? undefined : { cause })
    this.name = 'Failure'
    this.kind = kind
    this.code = code
    this.facts = facts
  }

  /** The same failure with more facts, such as the file it happened in. */
  with(facts: Facts): Failure {
    return new Failure(this.kind, this.code, { ...this.facts, ...facts }, this.cause)
  }

  toJSON(): FailureData {
    return { kind: this.kind, code: this.code, facts: this.facts }
  }
}

/** A failure as it crosses a thread or a document. */
export interface FailureData {
  readonly kind: FailureKind
  readonly code: string
  readonly facts: Facts
}

export const malformed = (code: string, facts?: Facts) => new Failure('malformed', code, facts)
export const unsupported = (code: string, facts?: Facts) => new Failure('unsupported', code, facts)
export const overLimit = (code: string, facts?: Facts) => new Failure('limit', code, facts)

/** Something a job did not use, with the reason from a closed list. */
export interface LeftOut {
  readonly what: string
  readonly reason: string
  readonly facts: Facts
}
