export {
  type Facts,
  Failure,
  type FailureData,
  type FailureKind,
  type LeftOut,
  malformed,
  overLimit,
  unsupported,
} from './failure.ts'
export { apply3, diagonal3, identity3, invert3, type Matrix3, multiply3, type Triple } from './matrix.ts'
export { type Random, seededRandom } from './random.ts'
export { fitLine, type LineFit, median, quantile, robustSpread } from './statistics.ts'
