export {
  type Aircraft,
  type Conditions,
  DEFAULT_RESERVE,
  type NoStay,
  temperatureCurve,
  temperatureFactor,
  type UsableMinutes,
  usableMinutes,
  WIND_COST,
  windFactor,
} from './battery.ts'
export { type Caution, type CautionCode, type CautionInput, cautionCodes, cautionsOf } from './cautions.ts'
export { type LegProfile, legProfile, type NamedSpot, type ObstacleClearance } from './clearance.ts'
export { type Evening, SWAP_MINUTES, type Viewpoint } from './evening.ts'
export { type Facing, facingOf } from './facing.ts'
export {
  type Footprint,
  footprintOf,
  type GroundPoint,
  type GroundSampling,
  type HorizonInFrame,
  horizonInFrame,
  type NoGround,
} from './framing.ts'
export {
  angleBetween,
  type Coordinates,
  checkCoordinates,
  type Offset,
  offsetOf,
  placeAlong,
  placeAt,
  placeAtOffset,
  type Way,
  wayBetween,
} from './geodesic.ts'
export { checkHomePoint, FIX_ACCURACY_METRES, type HomePointCheck } from './home-point.ts'
export { horizonDipDegrees, horizonDipSeenDegrees } from './horizon.ts'
export { defaultKeep, type KeepOdds, type Kept, keepOdds, repeatsFor } from './keep-odds.ts'
export { LANDING_MINUTES, type Leg, legBetween, legHome, type Spot } from './legs.ts'
export { type CameraGeometry, type Lens, lensOf } from './lens.ts'
export { CORRIDOR_HALF_WIDTH_METRES, type Obstacle } from './obstacles.ts'
export { type EveningOrder, orderViewpoints, type Sortie, type Visit } from './order.ts'
export { type Recon, type ReconMark, type ReconPhoto, type ReconViewpoint, readRecon } from './recon.ts'
export {
  CEILING_METRES,
  type ClearanceRules,
  LOWEST_RETURN_METRES,
  MARGIN_METRES,
  type ReturnHeight,
  returnHeight,
} from './return-height.ts'
export { type CitedRule, citedRules } from './rules.ts'
export { type Instant, SENSING_LUX, type SensingBlind, sensingBlindFrom } from './sensing.ts'
export { type BodySight, bodyInFrame, sightOf, type Target, type TargetSight } from './sight.ts'
export { type CannotStay, type Stay, type StayPlan, stayAt } from './stay.ts'
export type { FramePoint, View } from './view.ts'
export {
  groundSpeed,
  type Terrain,
  type TerrainFacts,
  terrains,
  type Wind,
  type WindAloft,
  windAlong,
  windAt,
} from './wind.ts'
