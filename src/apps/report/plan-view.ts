import type { PlanDocument, PlanViewpoint } from '#jobs/contract'
import { scaleOf, scoped } from './chart.ts'
import { escapeHtml, figure } from './html.ts'

const SIZE = { width: 1120, height: 620, margin: 60 }
/** Ground farther off than this from where a picture is taken is its background, not its place. */
const FAR_METRES = 220
const n = (value: number) => String(Math.round(value * 10) / 10)

interface Spot {
  readonly eastMetres: number
  readonly northMetres: number
}

/** A foot of what the camera sees: corners above the horizon or far off are cut back to a drawable distance. */
function footprintOf(v: PlanViewpoint): Spot[] {
  const here = { eastMetres: v.eastMetres, northMetres: v.northMetres }
  const half = v.framing.fieldDegrees.horizontal / 2
  return v.framing.footprint.map((corner, i) => {
    const away = corner ? Math.hypot(corner.eastMetres - here.eastMetres, corner.northMetres - here.northMetres) : null
    if (corner && away !== null && away <= FAR_METRES) return corner
    // Corners come in the order top left, top right, bottom right, bottom left.
    const side = corner
      ? Math.atan2(corner.eastMetres - here.eastMetres, corner.northMetres - here.northMetres)
      : ((v.headingDegrees + (i === 0 || i === 3 ? -half : half)) * Math.PI) / 180
    return {
      eastMetres: here.eastMetres + FAR_METRES * Math.sin(side),
      northMetres: here.northMetres + FAR_METRES * Math.cos(side),
    }
  })
}

/** Where the viewpoints hang, what each sees of level ground, and home: north up, from coordinates alone, to scale. */
export function renderPlanView(plan: PlanDocument): string {
  const views = plan.viewpoints.filter((v) => v.set === 'dusk')
  const shapes = views.map(footprintOf)
  const spots = [{ eastMetres: 0, northMetres: 0 }, ...views, ...shapes.flat()]
  const wide = [Math.min(...spots.map((s) => s.eastMetres)), Math.max(...spots.map((s) => s.eastMetres))] as const
  const tall = [Math.min(...spots.map((s) => s.northMetres)), Math.max(...spots.map((s) => s.northMetres))] as const
  const perMetre = Math.min(
    (SIZE.width - 2 * SIZE.margin) / Math.max(wide[1] - wide[0], 20),
    (SIZE.height - 2 * SIZE.margin) / Math.max(tall[1] - tall[0], 20),
  )
  const height = Math.max(240, (tall[1] - tall[0]) * perMetre + 2 * SIZE.margin)
  const left = (SIZE.width - (wide[1] - wide[0]) * perMetre) / 2
  const x = scaleOf(wide[0], wide[0] + 1, left, left + perMetre)
  const y = scaleOf(tall[1], tall[1] - 1, SIZE.margin, SIZE.margin + perMetre)
  const bar = [10, 20, 50, 100, 200, 500, 1000].find((m) => m * perMetre >= 60) ?? 2000
  const feet = views.map((_, i) => {
    const corners = shapes[i]!.map((s) => `${n(x(s.eastMetres))},${n(y(s.northMetres))}`)
    return `<polygon class="foot" points="${corners.join(' ')}"/>`
  })
  const spotsToName = [...views, { name: 'home', eastMetres: 0, northMetres: 0 }]
  const labels = apart(spotsToName.map((v) => y(v.northMetres)))
  const marks = spotsToName.map((v, i) => {
    const [px, py] = [x(v.eastMetres), y(v.northMetres)]
    const right = px > SIZE.width - 260
    const at = px + (right ? -30 : 30)
    return `<path class="lead" d="M${n(px)} ${n(py)}L${n(at)} ${n(labels[i]!)}"/><circle class="${i < views.length ? 'point' : 'home'}" cx="${n(px)}" cy="${n(py)}" r="7"/><text class="name halo" x="${n(at + (right ? -4 : 4))}" y="${n(labels[i]! + 5)}" text-anchor="${right ? 'end' : 'start'}">${escapeHtml(v.name)}</text>`
  })
  return `<svg xmlns="http://www.w3.org/2000/svg" class="above" viewBox="0 0 ${SIZE.width} ${n(height)}" role="img" aria-labelledby="above-title above-words">
<title id="above-title">The viewpoints from above, north up</title>
<desc id="above-words">${escapeHtml(views.map((v) => `${v.name}: ${figure(Math.hypot(v.eastMetres, v.northMetres), 0, 'm')} from home, looking ${figure((v.headingDegrees + 360) % 360, 0)}°`).join('; '))}</desc>
<style>${STYLE}</style>
${[...feet, ...marks].join('\n')}
<path class="bar" d="M${SIZE.margin} ${n(height - 18)}h${n(bar * perMetre)}"/><text class="note" x="${SIZE.margin}" y="${n(height - 26)}">${bar} m</text>
<text class="note" x="${SIZE.width - SIZE.margin}" y="28" text-anchor="end">north is up</text>
</svg>`
}

/** Heights for labels near their points, in the order given, at least a line apart. */
function apart(wanted: readonly number[]): number[] {
  const order = wanted.map((_, i) => i).sort((a, b) => wanted[a]! - wanted[b]!)
  const placed = [...wanted]
  let free = Number.NEGATIVE_INFINITY
  for (const i of order) {
    placed[i] = Math.max(wanted[i]!, free)
    free = placed[i]! + 20
  }
  return placed
}

const STYLE = scoped(
  'above',
  `{display:block;width:100%;height:auto;font:15px system-ui,sans-serif}
.foot{fill:#7ddc9a;fill-opacity:.1;stroke:#7ddc9a;stroke-opacity:.7}
.point{fill:#ffb45c}
.home{fill:#7fb2ff}
.lead{stroke:#9fabc2}
.name{fill:#e9edf5;font-weight:600}
.note{fill:#b4bfd3}
.bar{stroke:#b4bfd3;stroke-width:3}
.halo{paint-order:stroke;stroke:#111827;stroke-width:5px;stroke-linejoin:round}`,
)
