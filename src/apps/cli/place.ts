import { InvalidArgumentError } from 'commander'

/** "50.1,14.4" as degrees; their range is the program's to check. */
export function coordinates(text: string): { latitude: number; longitude: number } {
  const parts = text.split(',')
  const [latitude, longitude] = parts.map((p) => (p.trim() === '' ? Number.NaN : Number(p)))
  if (parts.length !== 2 || !Number.isFinite(latitude) || !Number.isFinite(longitude))
    throw new InvalidArgumentError('It is latitude,longitude in degrees, for example 50.1,14.4.')
  return { latitude: latitude!, longitude: longitude! }
}
