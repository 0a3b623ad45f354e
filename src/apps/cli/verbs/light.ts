import { InvalidArgumentError, Option } from 'commander'
import { Failure } from '#core/base'
import { type Host, type LightDocument, neverWords } from '#jobs/contract'
import { exit } from '../exit.ts'
import { coordinates } from '../place.ts'
import type { Outcome } from '../session.ts'
import { addVerb, type Verbs } from '../verb.ts'
import { signed } from '../words.ts'

const clouds = ['clear', 'thin', 'average', 'dark'] as const

interface LightOptions {
  readonly at?: { latitude: number; longitude: number }
  readonly on?: string
  readonly zone?: string
  readonly cloud?: (typeof clouds)[number]
  readonly skyglow?: number
  readonly height: number
  readonly page?: string
}

export function addLight(verbs: Verbs): void {
  addVerb(verbs, {
    name: 'light',
    arguments: '[site]',
    summary: 'the light of one evening: sunset to night, minute by minute, and when sky and lamps balance',
    example: 'duskwork light demo-outing\n  duskwork light --at 50.1,14.4 --on 2027-02-09',
  })
    .option('--at <latitude,longitude>', 'the place in degrees, north and east positive', coordinates)
    .option('--on <date>', 'the evening, year-month-day')
    .option('--zone <name>', 'time zone by its IANA name (default: of the place)')
    .addOption(new Option('--cloud <kind>', 'what covers the sky').choices(clouds))
    .option('--skyglow <magnitudes>', 'brightness of the night sky at the zenith', numberOf)
    .option('--height <metres>', 'rise and set as seen from that high above flat ground', numberOf, 0)
    .option('--page <file>', 'write the evening as a page too')
    .action(async (site: string | undefined, options) =>
      verbs.run(options, async (host): Promise<Outcome> => {
        const { light } = await import('#jobs')
        const document = await light(await wishOf(host, site, options))
        if (options.page) {
          const { renderLightPage } = await import('#apps/report')
          await host.files.write(options.page, renderLightPage(document))
        }
        return { document, text: lightText(document, options.page ?? null), exitCode: exit.done }
      }),
    )
}

function numberOf(text: string): number {
  const value = Number(text)
  if (text.trim() === '' || !Number.isFinite(value)) throw new InvalidArgumentError('It is a number.')
  return value
}

/** What the command line says, over what the site or outing says. */
async function wishOf(host: Host, path: string | undefined, options: LightOptions) {
  const stated = path === undefined ? null : await statedBy(host, path)
  const place = options.at ?? stated?.place ?? null
  const date = options.on ?? stated?.date ?? null
  if (!place) throw new Failure('usage', 'no-place', path === undefined ? {} : { path })
  if (date === null) throw new Failure('usage', 'no-date', path === undefined ? {} : { path })
  return {
    ...place,
    date,
    timeZone: options.zone ?? (options.at ? null : (stated?.timeZone ?? null)),
    cloud: options.cloud ?? stated?.cloud ?? 'clear',
    skyglowMagnitudes: options.skyglow ?? stated?.skyglowMagnitudes ?? null,
    eyeMetres: options.height,
    sensingLux: stated?.sensingLux ?? 10,
  }
}

/** An outing's folder, or a file that describes a site. */
async function statedBy(host: Host, path: string) {
  const { readOutingDocument, readSite } = await import('#jobs')
  const outing = (await host.files.isDirectory(path)) ? await readOutingDocument(host.files, path) : null
  const site = outing?.site ?? (await readSite(host.files, path))
  const { latitude, longitude, timeZone, skyglowMagnitudes } = site
  return {
    place: latitude === null || longitude === null ? null : { latitude, longitude },
    date: outing?.date ?? null,
    timeZone,
    skyglowMagnitudes,
    cloud: outing?.weather.cloud ?? null,
    sensingLux: outing?.aircraft?.sensingLux ?? null,
  }
}

const names: Readonly<Record<string, string>> = {
  'civil-dusk': 'civil dusk, sun at −6°',
  'civil-dusk-30min': 'civil dusk by the 30-minute rule',
}

const clock = (local: string | null) => local?.slice(11, 16) ?? ''

export function lightText(document: LightDocument, page: string | null): string {
  const { place, date, events, balance, minutes, moon, sensing } = document
  const offset = minutes[0]?.local.slice(19) ?? ''
  const lines = [
    `${date}, ${signed(place.latitude, 4)}, ${signed(place.longitude, 4)}; ${place.timeZone}, UTC${offset.replace('-', '−')}`,
    '',
    ...events.map((e) => `  ${(names[e.name] ?? e.name.replaceAll('-', ' ')).padEnd(34)}${when(e)}`),
    `  ${'moon'.padEnd(34)}${moon.phase}, ${Math.round(100 * moon.fraction)} % lit`,
    `  ${`under ${sensing.lux} lux on the ground`.padEnd(34)}${sensing.local ? `from ${clock(sensing.local)}` : neverWords(sensing.never)}`,
    '',
    'When the sky equals what is lit:',
    ...balance.map(
      (b) =>
        `  ${`${b.words}, EV ${signed(b.subjectEv100, 1)}`.padEnd(46)}${b.local ? `${clock(b.local)}, sun ${signed(b.sunAltitude!, 1)}°` : neverWords(b.never)}`,
    ),
    '',
    'Every ten minutes: sun, light on the ground, sky:',
    ...minutes.filter((m) => m.local.slice(15, 16) === '0').map(minuteLine),
    ...(page === null ? [] : ['', 'Page:', `  ${page}`]),
  ]
  return `${lines.join('\n')}\n`
}

const when = (e: LightDocument['events'][number]) => e.local?.slice(11, 19) ?? neverWords(e.never)

const minuteLine = (m: LightDocument['minutes'][number]) =>
  `  ${clock(m.local)}  ${signed(m.sunAltitude, 1).padStart(6)}°  ${luxWords(m.lux).padStart(10)}  EV ${signed(m.ev100, 1).padStart(5)}  sky EV ${signed(m.skyEv100, 1).padStart(5)}`

const luxWords = (lux: number) => `${lux >= 100 ? lux.toFixed(0) : Number(lux.toPrecision(2))} lx`
