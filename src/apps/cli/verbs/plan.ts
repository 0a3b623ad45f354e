import { Failure } from '#core/base'
import { type Host, type PlanDocument, type PlanViewpoint, shutter } from '#jobs/contract'
import { exitCodeFor } from '../exit.ts'
import { leftOutText } from '../left-out.ts'
import { coordinates } from '../place.ts'
import type { Outcome } from '../session.ts'
import { addVerb, type Verbs } from '../verb.ts'
import { bytes, count, signed } from '../words.ts'

interface PlanOptions {
  readonly at?: { latitude: number; longitude: number }
  readonly on?: string
  readonly zone?: string
  readonly title?: string
  readonly recon?: string
}

export function addPlan(verbs: Verbs): void {
  addVerb(verbs, {
    name: 'plan',
    arguments: '<outing>',
    summary: 'settings, flight and field card of the evening that outing.json describes',
    example: 'duskwork plan demo-outing',
  })
    .option('--at <latitude,longitude>', 'begin an outing there: writes a first outing.json to edit', coordinates)
    .option('--on <date>', 'its evening, year-month-day')
    .option('--zone <name>', 'its time zone by IANA name (default: of the place)')
    .option('--title <words>', 'its title (default: the name of the folder)')
    .option('--recon <folder>', 'take viewpoints and obstacles from photographs of a daylight flight')
    .action(async (folder: string, options) =>
      verbs.run(options, async (host): Promise<Outcome> => {
        const { importRecon, plan } = await import('#jobs')
        const begun = await begin(host, folder, options)
        const recon = options.recon ? await importRecon(host, folder, options.recon) : null
        const planned = await plan(host, folder)
        const document = {
          ...planned,
          leftOut: [...planned.leftOut, ...(recon?.leftOut ?? [])] as typeof planned.leftOut,
        }
        const { writeEveningPages } = await import('#apps/report')
        await writeEveningPages(host, folder, planned)
        const notes = [
          ...(begun ? [`A first outing.json is in ${folder}: put your camera, aircraft and viewpoints in.`] : []),
          ...(recon
            ? [
                `From the recon flight: ${count(recon.viewpoints.length, 'viewpoint')}, ${count(recon.obstacles.length, 'obstacle')}.`,
              ]
            : []),
        ]
        return { document, text: planText(document, folder, notes), exitCode: exitCodeFor(document.leftOut) }
      }),
    )
}

/** Writes a first outing.json where one is asked for. */
async function begin(host: Host, folder: string, options: PlanOptions): Promise<boolean> {
  if (!options.at && !options.on) return false
  if (!options.at) throw new Failure('usage', 'no-place', { path: folder })
  if (!options.on) throw new Failure('usage', 'no-date', { path: folder })
  const { startOuting } = await import('#jobs')
  await startOuting(host.files, folder, {
    title: options.title ?? host.files.baseName(host.files.resolve(folder)),
    date: options.on,
    ...options.at,
    timeZone: options.zone ?? null,
  })
  return true
}

const clock = (local: string) => local.slice(11, 16)

export function planText(document: PlanDocument, folder: string, notes: readonly string[]): string {
  const { viewpoints, returnHeightMetres, returnReason, upByLocal, homeByLocal } = document
  const lines = [
    ...notes,
    `${document.title}, ${document.date}; times in ${document.place.timeZone}`,
    upByLocal && homeByLocal ? `  up by ${clock(upByLocal)}, home by ${clock(homeByLocal)}` : '  nothing is flown',
    returnHeightMetres === null
      ? `  return height: ${returnReason ?? 'none'}`
      : `  return height ${returnHeightMetres} m`,
    `  ${count(document.batteries, 'battery', 'batteries')}, ${bytes(document.cardBytes)} on the card`,
    ...viewpoints.flatMap(viewpointLines),
    '',
    'Before you fly:',
    ...document.cautions.map((c) => `  ${c}`),
    '  Check your local rules. You decide; this plan does not.',
    '',
    'Field card:',
    `  ${document.card}`,
    'Evening:',
    `  ${folder}/evening.html`,
    ...leftOutText(document.leftOut),
  ]
  return `${lines.join('\n')}\n`
}

function viewpointLines(v: PlanViewpoint): string[] {
  const { settings, bracket } = v
  const span = `${shutter(Math.min(...bracket.shuttersSeconds))} to ${shutter(Math.max(...bracket.shuttersSeconds))}`
  const frames =
    bracket.frames > 1 ? `${bracket.frames} frames ${signed(bracket.stepStops, 2)} stops apart, ${span}` : 'one frame'
  return [
    '',
    `  ${clock(v.arriveLocal)}  ${v.name}${v.set === 'dark' ? ', after dark' : ''}`,
    `         f/${settings.fNumber}, ISO ${settings.iso}, ${shutter(settings.shutterSeconds)}; ${frames}${v.repeats === null ? '' : `; ${count(v.repeats, 'time')}`}`,
    `         leave by ${v.leaveByLocal ? clock(v.leaveByLocal) : 'unknown'}; hover limit ${shutter(v.hoverLimitSeconds)}; signal over noise ${Math.round(v.predictedSnr)} (${Math.round(v.predictedSnrSingle)} in one frame)`,
    ...v.remarks.map((r) => `         ${r.words}`),
  ]
}
