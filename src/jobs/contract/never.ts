/** Why something does not happen this evening, in words; every reason that plan/sky gives. */
const words: Readonly<Record<string, string>> = {
  'sun-stays-above': 'never: the sun stays above it',
  'sun-stays-below': 'never: the sun stays below it',
  'moon-stays-above': 'never: the moon stays up',
  'moon-stays-below': 'never: the moon stays down',
  'not-in-these-hours': 'not in these 24 hours',
  'no-sunset': 'never: the sun does not set',
  'sky-stays-brighter': 'never: the sky stays brighter',
  'sky-stays-darker': 'never: the sky stays darker',
  'light-stays-above': 'never: there is always more light',
  'light-stays-below': 'all the time: there is always less light',
}

export const neverWords = (reason: string | null): string => (reason === null ? '' : (words[reason] ?? reason))
