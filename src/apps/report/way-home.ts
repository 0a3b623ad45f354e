import { type Box, scaleOf, scoped, stagger } from './chart.ts'
import { escapeHtml, figure } from './html.ts'

/** The straight way from a viewpoint to home, seen from the side. Heights above take-off. */
export interface WayHome {
  readonly name: string
  readonly metres: number
  readonly viewpointMetres: number
  readonly returnMetres: number | null
  readonly ceilingMetres: number
  readonly seconds: number | null
  readonly obstacles: readonly {
    readonly name: string
    /** From home; null where nobody knows its place: it is drawn halfway. */
    readonly alongMetres: number | null
    readonly heightMetres: number
    readonly clearMetres: number
  }[]
}

const PLOT: Box = { left: 70, top: 60, right: 1060, bottom: 330 }
const n = (value: number) => String(Math.round(value * 10) / 10)

/**
 * Side view along the line home: the climb or descent to the return height, every obstacle with its height, the least
 * clearance. An SVG of its own; `key` keeps its ids apart from those of other drawings of the page.
 */
export function renderWayHome(stated: WayHome, key: string): string {
  const way = placed(stated)
  const top = Math.max(way.viewpointMetres, way.returnMetres ?? 0, ...way.obstacles.map((o) => o.heightMetres), 20)
  const x = scaleOf(0, Math.max(way.metres, 1), PLOT.left + 40, PLOT.right - 120)
  const y = scaleOf(0, top * 1.15, PLOT.bottom, PLOT.top)
  const path = way.returnMetres === null ? '' : pathHome(way, way.returnMetres, x, y)
  const ceiling =
    way.ceilingMetres <= top * 1.15
      ? `<line class="limit" x1="${PLOT.left}" x2="${PLOT.right}" y1="${n(y(way.ceilingMetres))}" y2="${n(y(way.ceilingMetres))}"/><text class="note limit-name" x="${PLOT.right}" y="${n(y(way.ceilingMetres) - 6)}" text-anchor="end">height limit ${figure(way.ceilingMetres, 0, 'm')}</text>`
      : ''
  return `<svg xmlns="http://www.w3.org/2000/svg" class="way" viewBox="0 0 1120 430" role="img" aria-labelledby="way-${key}-title way-${key}-words">
<title id="way-${key}-title">The way home from ${escapeHtml(way.name)}, from the side</title>
<desc id="way-${key}-words">${escapeHtml(wordsOf(way))}</desc>
<style>${STYLE}</style>
<line class="ground" x1="${PLOT.left}" x2="${PLOT.right}" y1="${PLOT.bottom}" y2="${PLOT.bottom}"/>
${ceiling}
${obstacles(way, x, y)}
${path}
<circle class="home" cx="${n(x(0))}" cy="${PLOT.bottom}" r="8"/><text class="name" x="${n(x(0))}" y="${PLOT.bottom + 34}" text-anchor="middle">home</text>
<circle class="point" cx="${n(x(way.metres))}" cy="${n(y(way.viewpointMetres))}" r="8"/>
<text class="name halo" x="${n(x(way.metres) - 16)}" y="${n(y(way.viewpointMetres) + (way.viewpointMetres <= (way.returnMetres ?? 0) ? 38 : -14))}" text-anchor="end">${escapeHtml(way.name)}, ${figure(way.viewpointMetres, 0, 'm')}</text>
</svg>`
}

/** Every obstacle at a place of the drawing; those without one say so. */
interface Placed extends WayHome {
  readonly obstacles: readonly { name: string; alongMetres: number; heightMetres: number; clearMetres: number }[]
}

const placed = (way: WayHome): Placed => ({
  ...way,
  obstacles: way.obstacles.map((o) =>
    o.alongMetres === null
      ? { ...o, alongMetres: way.metres / 2, name: `${o.name} (place unknown)` }
      : { ...o, alongMetres: o.alongMetres },
  ),
})

function pathHome(way: Placed, height: number, x: (m: number) => number, y: (m: number) => number): string {
  const least = way.obstacles.reduce<Placed['obstacles'][number] | null>(
    (worst, o) => (worst === null || o.clearMetres < worst.clearMetres ? o : worst),
    null,
  )
  const [home, far] = [x(0), x(way.metres)]
  const middle = (home + far) / 2
  const seconds = way.seconds === null ? '' : `, ${Math.round(way.seconds)} s`
  const clear = least
    ? `<line class="clear" x1="${n(x(least.alongMetres))}" x2="${n(x(least.alongMetres))}" y1="${n(y(least.heightMetres))}" y2="${n(y(height))}"/><text class="note clear-name halo" x="${n(x(least.alongMetres) + 9)}" y="${n((y(least.heightMetres) + y(height)) / 2 + 5)}">${figure(least.clearMetres, 0, 'm')} clear</text>`
    : ''
  return `<path class="path" d="M${n(far)} ${n(y(way.viewpointMetres))}V${n(y(height))}H${n(home)}V${PLOT.bottom}"/>
${clear}
<text class="note halo" x="${n(middle)}" y="${n(y(height) - 10)}" text-anchor="middle">back at ${figure(height, 0, 'm')}: ${figure(way.metres, 0, 'm')}${seconds}</text>`
}

/** Shapes first, then their words below the ground line in rows, so that nothing crosses anything. */
function obstacles(way: Placed, x: (m: number) => number, y: (m: number) => number): string {
  const inOrder = [...way.obstacles].sort((a, b) => a.alongMetres - b.alongMetres)
  const words = inOrder.map((o) => `${o.name} ${figure(o.heightMetres, 0, 'm')}`)
  const rows = stagger(
    inOrder.map((o, i) => ({ at: x(o.alongMetres), width: 12.5 * words[i]!.length + 20 })),
    3,
  )
  return inOrder
    .map((o, i) => {
      const at = x(o.alongMetres)
      const [wide, narrow] = [14, 9]
      const tip = y(o.heightMetres)
      return `<path class="thing" d="M${n(at - wide)} ${PLOT.bottom}L${n(at - narrow)} ${n(tip)}H${n(at + narrow)}L${n(at + wide)} ${PLOT.bottom}Z"/><text class="note" x="${n(at)}" y="${PLOT.bottom + 34 + 27 * rows[i]!}" text-anchor="middle">${escapeHtml(words[i]!)}</text>`
    })
    .join('\n')
}

function wordsOf(way: Placed): string {
  const back =
    way.returnMetres === null ? 'No return height clears the way.' : `Back at ${figure(way.returnMetres, 0, 'm')}.`
  const things = way.obstacles.map(
    (o) => `${o.name}, ${figure(o.heightMetres, 0, 'm')} high, ${figure(o.clearMetres, 0, 'm')} below the way`,
  )
  return `${figure(way.metres, 0, 'm')} from home at ${figure(way.viewpointMetres, 0, 'm')}. ${back} ${things.join('; ')}`
}

const STYLE = scoped(
  'way',
  `{display:block;width:100%;height:auto;font:24px system-ui,sans-serif;font-variant-numeric:tabular-nums}
.ground{stroke:#48587a;stroke-width:2}
.thing{fill:#1c2740;stroke:#5d6f95}
.note{fill:#b4bfd3}
.name{fill:#e9edf5;font-weight:600}
.path{fill:none;stroke:#ffb45c;stroke-width:2.5;stroke-dasharray:8 6}
.home{fill:#7fb2ff}
.point{fill:#ffb45c}
.clear{stroke:#7ddc9a;stroke-width:2}
.clear-name{fill:#9be8b3;font-weight:600}
.limit{stroke:#ff8177;stroke-dasharray:3 5}
.limit-name{fill:#ff8177}
.halo{paint-order:stroke;stroke:#111827;stroke-width:5px;stroke-linejoin:round}`,
)
