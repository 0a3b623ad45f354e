// The sky over a place: sun, moon, twilight, and the light they give. Knows no camera.
export { type Balance, balanceOf, groundFallsBelow } from './balance.ts'
export { type Direction, type MoonState, moonAt, phaseName, sunAt } from './bodies.ts'
export {
  type CivilDate,
  checkZone,
  dateText,
  type Instant,
  instantOf,
  localIso,
  noonOf,
  offsetMinutes,
  parseDate,
  utcIso,
} from './clock.ts'
export { type Evening, type EveningMinute, eveningOf } from './evening.ts'
export { type EventName, eveningEvents, eventsFrom, type Never, type SkyEvent } from './events.ts'
export { type Cloud, cloudDivisors, DEFAULT_MODEL, type LightModel, luminanceOfMagnitude } from './illuminance.ts'
export { moonQuarters, seasonsOf } from './moon-quarters.ts'
export { checkPlace, type Place, timeZoneOf } from './place.ts'
export { horizonDip } from './refraction.ts'
export { lightAt, PICTURE_SKY_ALTITUDE, pictureSkyLuminance, type SkyConditions, type SkyMoment } from './sky-state.ts'
