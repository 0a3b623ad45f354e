/** A sample from its neighbours left (a), above (b) and above left (c): ITU-T T.81 table H.1, in full integer precision. */
export function predictedSample(predictor: number, a: number, b: number, c: number): number {
  switch (predictor) {
    case 2:
      return b
    case 3:
      return c
    case 4:
      return a + b - c
    case 5:
      return a + ((b - c) >> 1)
    case 6:
      return b + ((a - c) >> 1)
    case 7:
      return (a + b) >> 1
    default:
      return a
  }
}
