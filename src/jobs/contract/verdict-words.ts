import type { Facts } from '#core/base'
import type { AdviceCode, Rule } from '#picture/measure'
import { shutter } from './quantities.ts'

const named = (file: Facts[string] | undefined) =>
  typeof file === 'string' ? file.split(/[\\/]/).at(-1)! : 'the frame'
const many = (n: Facts[string] | undefined, one: string) => `${n} ${one}${n === 1 ? '' : 's'}`
const list = (value: Facts[string] | undefined, join: string) =>
  Array.isArray(value) ? value.join(join) : String(value)

/** What to do about a broken rule, one sentence for each code. */
const advice: Readonly<Record<AdviceCode, (facts: Facts) => string>> = {
  'shorten-all': (f) => `Shorten every exposure by ${many(f['wholeStops'], 'stop')}, with as much more ISO.`,
  'shorten-longest': (f) =>
    typeof f['seconds'] === 'number'
      ? `Keep the longest exposure at ${shutter(f['seconds'])} or shorter.`
      : `Shorten the longest exposure by ${many(f['stops'], 'stop')}.`,
  'leave-out-longest': (f) => `For this one, merge without ${named(f['file'])}.`,
  'focus-again': () => 'Focus again on a lamp far away, and lock the focus.',
  'add-short-frames': (f) =>
    `Add ${many(f['frames'], 'frame')} at the short end, ${many(f['stops'], 'stop')} shorter in all.`,
  'add-long-frames': (f) => {
    const smear = f['smearPixels']
    const ends = typeof f['seconds'] === 'number' ? `, to ${shutter(f['seconds'])}` : ''
    const warning =
      typeof smear === 'number' && smear > 1
        ? ` At that time this hover would draw ${smear.toFixed(1)} px: take several frames of the present longest time instead.`
        : ''
    return `Add ${many(f['frames'], 'frame')} at the long end, ${many(f['stops'], 'stop')} longer in all${ends}.${warning}`
  },
  'repeat-whole-bracket': (f) => `Take the whole bracket again: ${many(f['missing'], 'frame')} of it missing.`,
  'copy-again': (f) => `Copy again from the card: ${list(f['files'], ', ')}.`,
  'narrow-step': (f) => `Put ${many(f['framesBetween'], 'frame')} into the widest step of ${many(f['stops'], 'stop')}.`,
  'fix-iso': (f) => `Fix the ISO: this bracket has ${list(f['iso'], ' and ')}.`,
  'hold-position': () => 'Wait until the aircraft has settled, then take the bracket in one go.',
  'whole-mains-periods': (f) =>
    `Use shutter times that are whole periods of the lamps, ${list(f['shutters'], ' or ')} s and their multiples.`,
  'turn-picture': (f) => {
    const degrees = Number(f['clockwiseDegrees'] ?? 0)
    return `Level it in the print: ${Math.abs(degrees).toFixed(1)}° ${degrees > 0 ? 'clockwise' : 'anticlockwise'}.`
  },
  'leave-out-frame': (f) =>
    `Merge without ${named(f['file'])}, and switch the own light off for the exposure if the rules allow.`,
  'wait-for-clear-air': () => 'Wait for clearer air, or go closer.',
  'check-black': () => 'Take a frame with the lens covered, so that the true black can be learnt.',
  'measure-by-eye': (f) => `Look at it at full size, for these could not be measured: ${list(f['rules'], '; ')}.`,
}

export const adviceWords = ({ code, facts }: { readonly code: AdviceCode; readonly facts: Facts }): string =>
  advice[code](facts)

const digits = (value: number) => (value >= 10 ? value.toFixed(0) : value.toFixed(value >= 1 ? 1 : 2))

/** What was found against its limit, in one phrase. */
export function reasonWords(
  { looksAt, unit }: Pick<Rule, 'looksAt' | 'unit'>,
  value: number | null,
  limit: number,
): string {
  if (value === null) return `${looksAt}: not measured`
  const space = unit === '°' ? '' : ' '
  return `${looksAt}: ${digits(value)}${space}${unit}; up to ${limit}${space}${unit} is kept`
}

const flags: Readonly<Record<string, string>> = {
  'finished-picture': 'a finished picture: what is said of it went through the camera’s own processing',
  'saturates-below-white': 'saturates below the file’s white level',
  'noise-unlike-profile': 'its noise is not what its file says',
  'row-offsets': 'offsets from row to row that a lifted sky would show',
  'focus-uneven': 'not equally sharp over the field',
  'smear-too-small': 'too small to measure smear',
  'smear-too-few-lamps': 'too few lamps or edges to measure smear',
  'smear-blobs-too-large': 'lamps too blurred to measure smear',
  'smear-longer-than-window': 'smear longer than what is looked for',
  'smear-unsure': 'smear too small or too uncertain to tell',
  'changed-since-copied': 'changed since it was copied',
  flicker: 'bands of flickering lamps',
  'own-strobe': 'lit by the aircraft’s own light',
}

/** Whether a frame's flag has words. */
export const hasFlagWords = (flag: string) => flag in flags

/** What a frame's flag says. */
export const flagWords = (flag: string): string => flags[flag] ?? flag.replaceAll('-', ' ')
