import {
  type BracketDesign,
  type BracketRemark,
  designBracket,
  ev100Of,
  ev100OfLuminance,
  ev100OfLux,
  hoverLimitSeconds,
  luminanceOfEv100,
  nominalSeconds,
  smearPixels,
} from '#plan/exposure'
import { footprintOf, keepOdds } from '#plan/flight'
import { type Evening, type Instant, lightAt, pictureSkyLuminance } from '#plan/sky'
import { type MinutePicture, shutter } from './contract/index.ts'
import type { PlanFacts, PlannedView } from './plan-facts.ts'

/** An even grey reflects that much; streets and roofs are darker, pavements lighter. */
const GREY = 0.18
/** Ground away from lamps in a town at night, cd/m² (measured in one large capital; an amateur's list of luminances). */
const TOWN_GROUND = 0.02
/** Signs and windows that a night picture should hold, EV 9 of the exposure guide, cd/m²; lamps' own faces are given up. */
const WINDOWS = 64
/** Sky is in the picture when its upper edge looks over the horizon. */
const skyInFrame = (view: PlannedView, facts: PlanFacts) => view.tiltDegrees + facts.lens.fieldDownDegrees / 2 > 0
/** Where the middle of a picture looks over the horizon and no distance is stated. */
const FAR_METRES = 300

const round = (value: number, digits: number) => Number(value.toFixed(digits))

/** Metres to what must be sharp: stated, or the middle of the picture on level ground, or its nearest ground. */
export function subjectMetres(view: PlannedView, facts: PlanFacts): number {
  if (view.stated.subjectMetres !== null) return view.stated.subjectMetres
  const foot = footprintOf(view, facts.lens)
  if (foot.slantMetres !== null) return Math.max(1, foot.slantMetres)
  const near = foot.bottomEdge
  return near === null ? FAR_METRES : Math.max(1, Math.hypot(near.distanceMetres, view.heightMetres))
}

/** The longest shutter that keeps smear within the budget there. */
export function hoverLimitAt(view: PlannedView, facts: PlanFacts): number {
  const hover = hoverOf(view, facts)
  return hoverLimitSeconds(hover, facts.outing.intent.blurPixels)
}

const hoverOf = (view: PlannedView, facts: PlanFacts) => ({
  driftMetresPerSecond: facts.aircraft.driftMetresPerSecond,
  wanderDegreesPerSecond: facts.aircraft.wanderDegreesPerSecond,
  subjectMetres: subjectMetres(view, facts),
  focalPixels: facts.lens.focalPixels,
})

/** Light at a viewpoint: of the sky that the picture holds, and of unlit ground; cd/m². */
function levelsAt(view: PlannedView, facts: PlanFacts, evening: Evening, at: Instant) {
  const moment = evening.momentAt(Math.min(Math.max(at, evening.from), evening.to))
  const { lux } = lightAt(moment, evening.conditions)
  const sky = pictureSkyLuminance(moment, evening.conditions, view.headingDegrees)
  const ground = Math.max((GREY * lux) / Math.PI, TOWN_GROUND)
  const subject = luminanceOfEv100(view.subjectEv100)
  const stops = view.stated.sceneStops
  if (stops !== null)
    return { lux, sky, subject, darkest: subject * 2 ** (-stops / 2), brightest: subject * 2 ** (stops / 2) }
  const seen = skyInFrame(view, facts) ? [sky] : []
  return {
    lux,
    sky,
    subject,
    darkest: Math.min(ground, subject, ...seen),
    brightest: Math.max(WINDOWS, subject, ...seen),
  }
}

/** Settings, bracket, odds and space of one picture at a moment. */
export function planPicture(view: PlannedView, facts: PlanFacts, evening: Evening, at: Instant): MinutePicture {
  const { outing, camera, aircraft } = facts
  const levels = levelsAt(view, facts, evening, at)
  const hoverLimit = hoverLimitAt(view, facts)
  const design = designBracket({
    camera: facts.exposureCamera,
    darkest: levels.darkest,
    brightest: levels.brightest,
    subject: levels.subject,
    hoverLimitSeconds: hoverLimit,
    timeLimitSeconds: outing.intent.bracketSeconds,
    mainsHertz: outing.site.mainsHertz,
  })
  const longest = design.exposures.at(-1)!.seconds
  const odds = keepOdds(longest, smearPixels(hoverOf(view, facts), longest), [], outing.intent.blurPixels)
  const frames = design.exposures.length
  return {
    settings: {
      fNumber: design.middle.fNumber,
      iso: design.middle.iso,
      shutterSeconds: nominalSeconds(design.middle.seconds),
      ev100: round(ev100Of(design.middle), 2),
    },
    bracket: {
      frames,
      stepStops: round(design.pattern.stepStops, 2),
      shuttersSeconds: [...design.shuttersSeconds],
      brackets: design.brackets,
      totalSeconds: round(design.totalSeconds, 1),
    },
    hoverLimitSeconds: round(hoverLimit, 3),
    predictedSnr: round(design.subjectSnr, 1),
    predictedSnrSingle: round(design.subjectSnrSingle, 1),
    keepOdds: round(odds.probability, 3),
    keepBasis: aircraft.learnt ? 'learnt' : 'default',
    repeats: odds.repeats,
    skyEv100: round(ev100OfLuminance(levels.sky), 2),
    groundEv100: round(ev100OfLux(levels.lux), 2),
    cardBytes: Math.round((odds.repeats ?? 1) * frames * camera.megabytesPerFrame * 1e6),
    remarks: [...design.remarks.map(remarkEntry), ...timeRemark(view, design, odds.repeats)],
  }
}

function timeRemark(view: PlannedView, design: BracketDesign, repeats: number | null): MinutePicture['remarks'] {
  if (repeats === null) return [{ code: 'never-kept', words: 'The hover is too unsteady for any number of tries.' }]
  const seconds = repeats * design.totalSeconds
  if (seconds <= 60 * view.stated.minutes) return []
  const words = `The repeats take ${Math.ceil(seconds / 60)} min; ${view.stated.minutes} min are planned there.`
  return [{ code: 'minutes-short', words }]
}

const stops = (value: number) => `${round(value, 1)} stop${round(value, 1) === 1 ? '' : 's'}`

function remarkEntry(remark: BracketRemark): { code: string; words: string } {
  switch (remark.code) {
    case 'centred-down':
      return { code: remark.code, words: `Centred ${stops(remark.stops)} down: a longer frame would smear.` }
    case 'clipped-above':
      return { code: remark.code, words: `The brightest ${stops(remark.stops)} of the scene clip in every frame.` }
    case 'buried-below':
      return { code: remark.code, words: `The darkest ${stops(remark.stops)} of the scene stay below the noise.` }
    case 'two-brackets':
      return { code: remark.code, words: `Two brackets, the second ${stops(remark.offsetStops)} longer.` }
    case 'one-frame':
      return {
        code: remark.code,
        words:
          remark.why === 'hover'
            ? 'One frame only: the hover allows no longer one.'
            : 'One frame only: no bracket of this camera fits the time.',
      }
    case 'hover-below-shortest':
      return { code: remark.code, words: `Even ${shutter(remark.shortestSeconds)}, the shortest shutter, smears here.` }
    case 'flicker':
      return {
        code: remark.code,
        words: `Lamps on ${remark.mainsHertz} Hz may stripe at ${remark.shuttersSeconds.map(shutter).join(', ')}.`,
      }
  }
}
