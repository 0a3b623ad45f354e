import { type OutingDocument, outingSchema } from '#jobs/schemas'
import { lantern } from '#picture/simulate'
import { placeAtOffset } from '#plan/flight'

/** The town is invented; its light is that of a round pair of coordinates, so that the evening is one of this earth. */
const place = { latitude: 50, longitude: 15 }

const six = (degrees: number) => Number(degrees.toFixed(7))

/** A spot by metres east and north of home, as coordinates. */
function spot(eastMetres: number, northMetres: number) {
  const { latitude, longitude } = placeAtOffset(place, { eastMetres, northMetres })
  return { latitude: six(latitude), longitude: six(longitude) }
}

const { sensor } = lantern

/** Its camera exists nowhere else: whoever writes a demonstration over an earlier one knows it by that name. */
export const demoCameraName = `${lantern.make} ${lantern.model}`

/** The demonstration's evening: a site, a camera, an aircraft and viewpoints, all invented. */
export const demoEvening = (): OutingDocument =>
  outingSchema.parse({
    schema: 'outing/1',
    title: 'Weir at dusk: a demonstration',
    date: '2027-02-09',
    site: {
      name: 'a river town that does not exist',
      ...place,
      timeZone: 'Europe/Prague',
      terrain: 'suburb',
      mainsHertz: 50,
      skyglowMagnitudes: 19.5,
      obstacles: [
        { name: 'mill chimney', ...spot(10, 60), heightMetres: 31, radiusMetres: 3, source: 'recon, by eye, level' },
        { name: 'poplars', ...spot(-22, 24), heightMetres: 18, radiusMetres: 12, source: 'recon, by eye, level' },
        { name: 'lock crane', ...spot(48, 88), heightMetres: 22, radiusMetres: 8, source: 'recon, by eye, level' },
      ],
      notes: 'Invented: no place on earth looks like this one. The coordinates lend it their sun and moon.',
    },
    camera: {
      name: demoCameraName,
      widthPixels: 4000,
      heightPixels: 3000,
      sensorWidthMillimetres: 9.6,
      sensorHeightMillimetres: 7.2,
      focalLengthMillimetres: lantern.focalLengthMillimetres,
      fNumbers: [lantern.fNumber],
      isos: [100, 200, 400, 800],
      shortestSeconds: 1 / 8000,
      longestSeconds: 8,
      patterns: [
        { frames: 3, stepStops: 1 },
        { frames: 5, stepStops: 1 },
        { frames: 7, stepStops: 1 },
        { frames: 5, stepStops: 2 },
      ],
      writeSeconds: 0.45,
      fullWellElectrons: sensor.fullWellElectrons,
      readElectrons: sensor.readNoiseElectrons,
      megabytesPerFrame: 16,
    },
    aircraft: { ratedMinutes: 34, batteries: 3 },
    weather: { windMetresPerSecond: 2.5, windFromDegrees: 240, gustMetresPerSecond: 4, temperatureCelsius: 3 },
    viewpoints: [
      { name: 'over the river', ...spot(-14, 30), heightMetres: 52, headingDegrees: 2, tiltDegrees: -15 },
      {
        name: 'left bank',
        ...spot(34, 94),
        heightMetres: 42,
        headingDegrees: -20,
        tiltDegrees: -14,
        subject: 'traffic',
      },
      {
        name: 'mill, weir and lock',
        ...spot(6, 122),
        heightMetres: 34,
        headingDegrees: 0,
        tiltDegrees: -17,
        afterDark: true,
      },
      {
        name: 'down the river',
        ...spot(-40, 60),
        heightMetres: 60,
        headingDegrees: 245,
        tiltDegrees: -10,
        subject: 'distant',
      },
      {
        name: 'roofs from above',
        ...spot(40, 120),
        heightMetres: 80,
        headingDegrees: 0,
        tiltDegrees: -90,
        subject: 'windows',
      },
    ],
    notes: 'Synthetic raw brackets of known truth. What they were made from stands in truth/, bracket by bracket.',
  })
