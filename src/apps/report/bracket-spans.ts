import { type Box, scaleOf, scoped } from './chart.ts'
import { escapeHtml } from './html.ts'

export interface BracketSpans {
  readonly id: string
  /** The scene's own range, stops; null where it was not measured. */
  readonly scene: { readonly lowStops: number; readonly highStops: number } | null
  readonly frames: readonly {
    readonly name: string
    readonly words: string
    readonly span: { readonly lowStops: number; readonly highStops: number } | null
    readonly best: boolean
  }[]
}

const WIDTH = 720
const ROW = 30
const LEFT = 150
const n = (value: number) => String(Math.round(value * 10) / 10)

/**
 * A bracket as what each of its frames holds of the scene: bars from noise to saturation over the scene's measured stops. What no
 * bar covers is lost. An SVG of its own.
 */
export function renderBracketSpans(b: BracketSpans): string {
  const spans = b.frames.flatMap((f) => (f.span ? [f.span] : []))
  const all = [...spans, ...(b.scene ? [b.scene] : [])]
  if (all.length === 0) return ''
  const low = Math.floor(Math.min(...all.map((s) => s.lowStops))) - 1
  const high = Math.ceil(Math.max(...all.map((s) => s.highStops))) + 1
  const plot: Box = { left: LEFT, top: 34, right: WIDTH - 20, bottom: 34 + ROW * b.frames.length }
  const x = scaleOf(low, high, plot.left, plot.right)
  const step = high - low > 16 ? 4 : 2
  const ticks: string[] = []
  for (let s = Math.ceil(low / step) * step; s <= high; s += step)
    ticks.push(
      `<line class="grid" x1="${n(x(s))}" x2="${n(x(s))}" y1="${plot.top - 6}" y2="${plot.bottom}"/><text class="note" x="${n(x(s))}" y="${plot.top - 12}" text-anchor="middle">${s > 0 ? '+' : s < 0 ? '−' : ''}${Math.abs(s)}</text>`,
    )
  const scene = b.scene
    ? `<rect class="scene" x="${n(x(b.scene.lowStops))}" width="${n(x(b.scene.highStops) - x(b.scene.lowStops))}" y="${plot.top - 4}" height="${plot.bottom - plot.top + 8}"/>`
    : ''
  const bars = b.frames.map((f, i) => {
    const y = plot.top + ROW * i + 6
    const bar = f.span
      ? `<rect class="${f.best ? 'bar best' : 'bar'}" x="${n(x(f.span.lowStops))}" width="${n(Math.max(2, x(f.span.highStops) - x(f.span.lowStops)))}" y="${y}" height="16" rx="4"/>`
      : ''
    return `${bar}<text class="name" x="${LEFT - 10}" y="${y + 13}" text-anchor="end">${escapeHtml(f.words)}</text>`
  })
  const key = b.id.replace(/[^\w-]/g, '_')
  return `<svg xmlns="http://www.w3.org/2000/svg" class="spans" viewBox="0 0 ${WIDTH} ${plot.bottom + 28}" role="img" aria-labelledby="spans-${key}-title spans-${key}-words">
<title id="spans-${key}-title">What the frames of bracket ${escapeHtml(b.id)} hold of the scene, in stops</title>
<desc id="spans-${key}-words">${escapeHtml(wordsOf(b))}</desc>
<style>${STYLE}</style>
${[scene, ...ticks, ...bars].filter((p) => p !== '').join('\n')}
<text class="note" x="${plot.right}" y="${plot.bottom + 20}" text-anchor="end">stops of the scene; the shaded part is what it has</text>
</svg>`
}

function wordsOf({ frames, scene }: BracketSpans): string {
  const range = (s: { lowStops: number; highStops: number }) =>
    `${n(s.lowStops)} to ${n(s.highStops)} stops`.replaceAll('-', '−')
  const own = scene ? `The scene has ${range(scene)}. ` : ''
  return `${own}${frames.map((f) => `${f.words}: ${f.span ? range(f.span) : 'not measured'}`).join('; ')}.`
}

const STYLE = scoped(
  'spans',
  `{display:block;width:100%;height:auto;font:14px system-ui,sans-serif;font-variant-numeric:tabular-nums}
.grid{stroke:#fff;stroke-opacity:.12}
.note{fill:#b4bfd3}
.name{fill:#e9edf5}
.scene{fill:#ffb45c;fill-opacity:.16}
.bar{fill:#7fb2ff;fill-opacity:.75}
.best{fill:#7ddc9a;fill-opacity:.85}`,
)
