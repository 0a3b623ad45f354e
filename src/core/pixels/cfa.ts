/** Colours of a colour filter array, as TIFF/EP numbers them (the codes are from memory): 0 red, 1 green, 2 blue. */
export type CfaColour = 0 | 1 | 2

/** A 2×2 filter pattern in row order: [row 0 col 0, row 0 col 1, row 1 col 0, row 1 col 1]. */
export type CfaPattern = readonly [CfaColour, CfaColour, CfaColour, CfaColour]

/** "RGGB" and its three shifts. */
export const cfaName = (p: CfaPattern): string => p.map((c) => 'RGB'[c]).join('')

/** The colour of the filter at a row and column of the pattern's own coordinates. */
export const cfaAt = (p: CfaPattern, row: number, column: number): CfaColour =>
  p[((row & 1) << 1) | (column & 1)] as CfaColour

/** The pattern seen from an origin moved down by `rows` and right by `columns`. */
export const shiftCfa = (p: CfaPattern, rows: number, columns: number): CfaPattern => [
  cfaAt(p, rows, columns),
  cfaAt(p, rows, columns + 1),
  cfaAt(p, rows + 1, columns),
  cfaAt(p, rows + 1, columns + 1),
]

/** True for the four Bayer phases: one red, one blue on a diagonal, two greens. */
export function isBayer(p: CfaPattern): boolean {
  const [a, b, c, d] = p
  return (a === 1 && d === 1 && b !== 1 && c !== 1 && b !== c) || (b === 1 && c === 1 && a !== 1 && d !== 1 && a !== d)
}
