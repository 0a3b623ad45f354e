import type { PlanDocument } from '#jobs/contract'

/** The smaller of A4 and Letter in each direction, less 10 mm of margin, in points; a tenth is kept free. */
const SHEET = { widthPoints: 539, heightPoints: 735 * 0.9 }
const LARGEST = 11
/** Below this nobody reads it: rather two sheets. */
const SMALLEST = 4.5
const STEP = 0.25
/** Mean width of a character of the system's sans-serif, in em; wide ones and bold are allowed for. */
const CHARACTER = 0.52
const LINE = 1.25

/** What the card's height depends on: texts set over the whole width, and viewpoints in one column or two. */
export interface CardContent {
  readonly viewpoints: PlanDocument['viewpoints']
  readonly sections: number
  readonly texts: readonly string[]
}

/** Two columns from here on. */
export const inColumns = (viewpoints: number): boolean => viewpoints > 4

const linesOf = (text: string, widthEm: number) => Math.max(1, Math.ceil((text.length * CHARACTER) / widthEm))

/** Height of the card in em at a type size; follows the print rules in field-card.ts. */
function heightEm({ viewpoints, sections, texts }: CardContent, sizePoints: number): number {
  const width = SHEET.widthPoints / sizePoints
  const columns = inColumns(viewpoints.length) ? 2 : 1
  const column = width / columns - (columns > 1 ? 1.5 : 0)
  // Name and time at 1.3 em, two rows of details at 0.88 em of some 55 and 70 characters.
  const rows = viewpoints.map((v) => {
    const name = 1.3 * LINE * linesOf(`00:00   ${v.name}`, column / 1.3)
    const details = 0.88 * LINE * (linesOf('0'.repeat(56), column / 0.88) + linesOf('0'.repeat(68), column / 0.88))
    const settings = columns > 1 ? 1.1 * LINE : 0
    return name + settings + details + 0.7
  })
  const body = rows.reduce((sum, r) => sum + r, 0) / columns + (columns > 1 ? Math.max(0, ...rows) : 0)
  const words = texts.reduce((sum, t) => sum + 0.88 * LINE * linesOf(t, width / 0.88 - 2) + 0.2, 0)
  const head = 3 + 3.4 + 1.6 + 8
  return head + sections * 2.4 + body + words
}

/** The largest type size, in points, with which the card stays on one sheet of A4 or Letter. */
export function sheetSize(content: CardContent): number {
  for (let size = LARGEST; size > SMALLEST; size -= STEP)
    if (heightEm(content, size) * size <= SHEET.heightPoints) return size
  return SMALLEST
}
