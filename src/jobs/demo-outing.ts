import { exifFields, linearSrgbChromaticities, srgbProfile, writeExr, writeTiff } from '#core/formats'
import type { Crew } from '#core/kernels'
import {
  bracketBytes,
  type FramePlan,
  lantern,
  lanternColour,
  noiseOf,
  previewOf,
  renderBracketMaster,
  takeFrame,
  truthHalves,
} from '#picture/simulate'
import type { Host } from './contract/index.ts'
import { demoEvening } from './demo-evening.ts'
import { requireDemoFolder } from './demo-folder.ts'
import { type DemoShoot, demoShoots } from './demo-plan.ts'

export interface DemoOutingOptions {
  /** 1 makes pictures of 12 and 3 megapixels; less makes them smaller, for quick trials. Default 1. */
  readonly scale?: number
}

export interface DemoBracketFiles {
  readonly id: string
  readonly scene: string
  readonly width: number
  readonly height: number
  /** Paths of the raw files in the order taken. */
  readonly frames: readonly string[]
  readonly reference: string
  readonly truth: string
  readonly radiance: string
}

export interface DemoOuting {
  readonly outing: string
  readonly truth: string
  readonly brackets: readonly DemoBracketFiles[]
  /** Raw files that belong to no bracket. */
  readonly singles: readonly string[]
}

/** JSON for people: two spaces, a line end at the end. */
const json = (value: object) => `${JSON.stringify(value, null, 2)}\n`

const exifOf = (frame: FramePlan, offsetMinutes: number | null) =>
  writeTiff([
    {
      fields: [
        { tag: 271, type: 'ascii', text: lantern.make },
        { tag: 272, type: 'ascii', text: lantern.model },
        { tag: 274, type: 'short', values: [1] },
      ],
      children: [
        {
          tag: 34665,
          directories: [
            {
              fields: exifFields({
                exposureSeconds: frame.statedSeconds,
                iso: lantern.iso,
                fNumber: lantern.fNumber,
                focalLengthMillimetres: lantern.focalLengthMillimetres,
                takenAt: { camera: frame.camera, subSecond: frame.subSecond, offsetMinutes },
              }),
            },
          ],
        },
      ],
    },
  ])

/**
 * Writes a demonstration outing: `originals/` as an invented camera would leave them (a stray frame and three brackets
 * of an invented town), `outing.json`, and the truth they were made from in `truth/<bracket>/`. The same files on every
 * machine, byte for byte, but for the JPEGs, which the codec makes. `outing.json` comes first: a run that was stopped
 * leaves a folder that says what it is, and can be run again.
 * @throws Failure io "not-a-folder", "folder-not-empty" (anything but an earlier demonstration is there), aborted
 */
export async function writeDemoOuting(
  host: Host,
  directory: string,
  options: DemoOutingOptions = {},
): Promise<DemoOuting> {
  const { files } = host
  const shoots = demoShoots(lantern.sensor, options.scale ?? 1)
  const originals = files.join(directory, 'originals')
  const truth = files.join(directory, 'truth')
  await requireDemoFolder(files, directory)
  await files.makeDirectory(originals)
  await files.makeDirectory(truth)
  await files.write(files.join(directory, 'outing.json'), json(demoEvening()))
  const total = shoots.reduce((n, s) => n + s.plan.frames.length + 1, 0)
  let done = 0
  const step = () => {
    host.progress({ stage: 'Making the demonstration', done: done++, total })
    host.throwIfStopped()
  }
  const brackets: DemoBracketFiles[] = []
  const singles: string[] = []
  let counter = 1
  const crew = await host.crew(Math.max(...shoots.map((s) => bracketBytes(s.plan))))
  try {
    for (const shoot of shoots) {
      const names = shoot.plan.frames.map(() => `DUSK_${String(counter++).padStart(4, '0')}`)
      const frames = await writeShoot(host, crew, shoot, originals, truth, names, step)
      if (shoot.plan.frames.length === 1) singles.push(...frames)
      else {
        const folder = files.join(truth, shoot.id)
        brackets.push({
          id: shoot.id,
          scene: shoot.scene,
          width: shoot.plan.width,
          height: shoot.plan.height,
          frames,
          reference: frames[shoot.reference]!,
          truth: files.join(folder, 'truth.json'),
          radiance: files.join(folder, 'radiance.exr'),
        })
      }
    }
  } finally {
    await crew.close()
  }
  step()
  return { outing: directory, truth, brackets, singles }
}

/** Takes and writes one shoot's frames, companions and truth; returns the raw files' paths. */
async function writeShoot(
  host: Host,
  crew: Crew,
  shoot: DemoShoot,
  originals: string,
  truth: string,
  names: readonly string[],
  step: () => void,
): Promise<string[]> {
  const { files } = host
  const { plan } = shoot
  const start = crew.arena.mark()
  step()
  const master = await renderBracketMaster(crew, plan)
  const mark = crew.arena.mark()
  const paths: string[] = []
  for (const [i, name] of names.entries()) {
    step()
    const { mosaic, dng } = await takeFrame(crew, master, plan, i)
    const path = files.join(originals, `${name}.DNG`)
    await files.write(path, dng)
    paths.push(path)
    if (shoot.withCompanions) {
      const { width, height } = plan
      const small = previewOf(crew.arena, mosaic, plan.sensor ?? lantern.sensor, { width, height, longSide: 1000 })
      const metadata = { exif: exifOf(plan.frames[i]!, plan.offsetMinutes ?? null), icc: srgbProfile() }
      const jpeg = await host.codec.encodeJpeg({ ...small, channels: 3 }, 88, metadata)
      await files.write(files.join(originals, `${name}.JPG`), jpeg)
    }
    crew.arena.release(mark)
  }
  if (names.length > 1) {
    const folder = files.join(truth, shoot.id)
    await files.makeDirectory(folder)
    const size = plan.width * plan.height
    const halves = await truthHalves(crew, master)
    const channels = ['R', 'G', 'B'].map((name, c) => ({
      name,
      samples: crew.arena.u16(halves + c * size * 2, size),
    }))
    const picture = { width: plan.width, height: plan.height, channels, chromaticities: linearSrgbChromaticities }
    await files.write(files.join(folder, 'radiance.exr'), writeExr(picture))
    await files.write(files.join(folder, 'truth.json'), json(truthDocument(shoot, names)))
  }
  crew.arena.release(start)
  return paths
}

/** What a bracket was made from, for whoever compares: see `truth/1` fields by name. */
function truthDocument({ id, scene, plan, reference }: DemoShoot, names: readonly string[]) {
  const sensor = plan.sensor ?? lantern.sensor
  const base = plan.frames[reference]!
  return {
    schema: 'truth/1',
    bracket: id,
    scene,
    made: plan.scene,
    seed: plan.seed,
    width: plan.width,
    height: plan.height,
    reference: `${names[reference]!}.DNG`,
    radiance: 'radiance.exr',
    unit: 'linear sRGB, 1.0 = saturation of the reference frame, white at the as-shot neutral',
    neutral: lanternColour.asShotNeutral,
    noise: {
      ...noiseOf(sensor),
      fullWellElectrons: sensor.fullWellElectrons,
      readNoiseElectrons: sensor.readNoiseElectrons,
      black: sensor.black,
      white: sensor.white,
      bitsPerSample: sensor.bitsPerSample,
    },
    frames: plan.frames.map((f, i) => ({
      file: `${names[i]!}.DNG`,
      exposureSeconds: f.statedSeconds,
      ratio: f.ratio,
      ratioStops: Math.log2(f.ratio),
      nominalStops: Math.log2(f.statedSeconds / base.statedSeconds),
      shift: { x: f.motion.x, y: f.motion.y },
      rotationDegrees: f.motion.rotationDegrees,
    })),
  }
}
