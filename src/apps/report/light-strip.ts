import { type Box, clockTicks, evTicks, polyline, scaleOf, scoped, stagger } from './chart.ts'
import { escapeHtml } from './html.ts'

/** A level that the strip shows as a band across the evening. */
export interface StripBand {
  readonly words: string
  readonly lowEv100: number
  readonly highEv100: number
}

export interface StripMark {
  readonly words: string
  readonly utc: string
  readonly local: string
}

export interface LightStrip {
  readonly points: readonly {
    readonly utc: string
    readonly local: string
    readonly skyEv100: number
    readonly groundEv100: number
  }[]
  readonly events: readonly StripMark[]
  readonly bands: readonly StripBand[]
  /** The minute in which the sky equals the lit subject, and the window around it in which they are a stop apart. */
  readonly balance: (StripMark & { readonly ev100: number; readonly from: string; readonly to: string }) | null
  /** Darker than this, no shutter that the hover allows gives an exposure. */
  readonly tooDark: { readonly ev100: number; readonly words: string } | null
  readonly title: string
  readonly description: string
}

const WIDTH = 1200
const HEIGHT = 440
const PLOT: Box = { left: 56, top: 64, right: 960, bottom: 390 }
/** What a level below means to a sensor is the same: the drawing ends there. */
const LOWEST = -6
const HIGHEST = 15

const time = (utc: string) => Date.parse(utc)
const clamp = (value: number, low: number, high: number) => Math.min(high, Math.max(low, value))
const n = (value: number) => String(Math.round(value * 10) / 10)

/** Sky at a level as a colour: day blue above EV 12, night below −3. A drawing's colour, not a measured one. */
function skyColour(ev: number): string {
  const share = clamp((ev + 3) / 15, 0, 1)
  const mix = (night: number, day: number) => Math.round(night + share * (day - night))
  return `rgb(${mix(10, 58)} ${mix(14, 104)} ${mix(24, 176)})`
}

/**
 * The evening as a strip: level (EV at ISO 100) against the local clock, the sky and the unlit ground as curves, lit
 * subjects as bands, the balance as a dot, and the region in which this aircraft cannot hold still long enough.
 * An SVG of its own that needs no script and no network; colours come with it.
 */
export function renderLightStrip(strip: LightStrip): string {
  const { points } = strip
  const first = points[0]
  const last = points.at(-1)
  if (!first || !last || points.length < 2) return ''
  const levels = points.flatMap((p) => [p.skyEv100, p.groundEv100])
  const low = clamp(Math.floor(Math.min(...levels, ...strip.bands.map((b) => b.lowEv100)) - 1), LOWEST, HIGHEST - 2)
  const high = clamp(Math.ceil(Math.max(...levels)) + 1, low + 2, HIGHEST)
  const x = scaleOf(time(first.utc), time(last.utc), PLOT.left, PLOT.right)
  const y = (ev: number) => scaleOf(low, high, PLOT.bottom, PLOT.top)(clamp(ev, low, high))
  const parts = [
    background(strip, x),
    ...evTicks(low, high).map(
      (ev) =>
        `<line class="grid" x1="${PLOT.left}" x2="${PLOT.right}" y1="${n(y(ev))}" y2="${n(y(ev))}"/><text class="tick" x="${PLOT.left - 10}" y="${n(y(ev) + 4)}" text-anchor="end">${ev < 0 ? `−${-ev}` : ev}</text>`,
    ),
    `<text class="tick" x="${PLOT.left - 10}" y="${PLOT.top - 10}" text-anchor="end">EV</text>`,
    ...clockTicks(points).map(
      (t) =>
        `<text class="tick" x="${n(x(time(t.utc)))}" y="${PLOT.bottom + 22}" text-anchor="middle">${t.clock}</text>`,
    ),
    strip.balance ? windowShade(strip.balance, x) : '',
    strip.tooDark && strip.tooDark.ev100 > low ? tooDark(y(strip.tooDark.ev100)) : '',
    ...strip.bands.map((b) => band(b, y)),
    ...events(strip.events, x),
    polyline('sky', points, (p) => [x(time(p.utc)), y(p.skyEv100)]),
    polyline('ground', points, (p) => [x(time(p.utc)), y(p.groundEv100)]),
    `<text class="name sky-name" x="${PLOT.left + 12}" y="${n(y(first.skyEv100) - 12)}">sky</text>`,
    `<text class="name ground-name" x="${PLOT.left + 12}" y="${n(y(first.groundEv100) + 24)}">unlit ground</text>`,
    ...sideWords(strip, y, low),
    strip.balance ? balance(strip.balance, x, y) : '',
  ]
  return `<svg xmlns="http://www.w3.org/2000/svg" class="strip" viewBox="0 0 ${WIDTH} ${HEIGHT}" role="img" aria-labelledby="strip-title strip-words">
<title id="strip-title">${escapeHtml(strip.title)}</title>
<desc id="strip-words">${escapeHtml(strip.description)}</desc>
<style>${STYLE}</style>
${parts.filter((p) => p !== '').join('\n')}
</svg>`
}

/** The sky's own course as the picture's background: thirty steps are smooth to the eye. */
function background({ points }: LightStrip, x: (t: number) => number): string {
  const step = Math.max(1, Math.floor(points.length / 30))
  const span = PLOT.right - PLOT.left
  const stops = points
    .filter((_, i) => i % step === 0 || i === points.length - 1)
    .map(
      (p) =>
        `<stop offset="${n((100 * (x(time(p.utc)) - PLOT.left)) / span)}%" stop-color="${skyColour(p.skyEv100)}"/>`,
    )
  return `<defs><linearGradient id="strip-sky">${stops.join('')}</linearGradient></defs>
<rect x="${PLOT.left}" y="${PLOT.top}" width="${span}" height="${PLOT.bottom - PLOT.top}" rx="8" fill="url(#strip-sky)"/>`
}

function windowShade({ from, to }: { from: string; to: string }, x: (t: number) => number): string {
  const left = clamp(x(time(from)), PLOT.left, PLOT.right)
  const right = clamp(x(time(to)), PLOT.left, PLOT.right)
  return `<rect class="window" x="${n(left)}" width="${n(right - left)}" y="${PLOT.top}" height="${PLOT.bottom - PLOT.top}"/>`
}

const tooDark = (top: number) =>
  `<rect class="dark" x="${PLOT.left}" width="${PLOT.right - PLOT.left}" y="${n(top)}" height="${n(PLOT.bottom - top)}"/>
<line class="dark-line" x1="${PLOT.left}" x2="${PLOT.right}" y1="${n(top)}" y2="${n(top)}"/>`

function band({ lowEv100, highEv100 }: StripBand, y: (ev: number) => number): string {
  const top = y(highEv100)
  return `<rect class="lamps" x="${PLOT.left}" width="${PLOT.right - PLOT.left}" y="${n(top)}" height="${n(Math.max(2, y(lowEv100) - top))}"/>`
}

/** Lines of events; words that would touch each other stand in a second row. */
function events(marks: readonly StripMark[], x: (t: number) => number): string[] {
  const inside = marks
    .map((m) => ({ ...m, at: x(time(m.utc)) }))
    .filter((m) => m.at >= PLOT.left && m.at <= PLOT.right)
    .sort((a, b) => a.at - b.at)
  const rows = stagger(
    inside.map((m) => ({ at: m.at, width: 7.4 * (m.words.length + 6) + 12 })),
    3,
  )
  return inside.map((m, i) => {
    const top = PLOT.top - 8 - 17 * rows[i]!
    return `<line class="event" x1="${n(m.at)}" x2="${n(m.at)}" y1="${n(top + 4)}" y2="${PLOT.bottom}"/><text class="tick" x="${n(m.at)}" y="${n(top)}" text-anchor="middle">${escapeHtml(m.words)} ${clock(m.local)}</text>`
  })
}

/** Bands and limits are named at the right edge, clear of every curve. */
function sideWords(strip: LightStrip, y: (ev: number) => number, low: number): string[] {
  const entries = strip.bands.map((b) => ({
    at: y((b.lowEv100 + b.highEv100) / 2),
    tone: 'lamps-name',
    head: b.words,
    sub: b.lowEv100 === b.highEv100 ? `EV ${figure(b.lowEv100)}` : `EV ${figure(b.lowEv100)} to ${figure(b.highEv100)}`,
  }))
  if (strip.tooDark && strip.tooDark.ev100 > low)
    entries.push({ at: y(strip.tooDark.ev100), tone: 'dark-name', head: 'too dark to hold', sub: strip.tooDark.words })
  entries.sort((a, b) => a.at - b.at)
  let free = PLOT.top
  return entries.map((e) => {
    const top = Math.max(e.at, free)
    free = top + 38
    return `<text class="name ${e.tone}" x="${PLOT.right + 14}" y="${n(top + 2)}">${escapeHtml(e.head)}</text><text class="tick" x="${PLOT.right + 14}" y="${n(top + 19)}">${escapeHtml(e.sub)}</text>`
  })
}

function balance(b: NonNullable<LightStrip['balance']>, x: (t: number) => number, y: (ev: number) => number): string {
  const [cx, cy] = [x(time(b.utc)), y(b.ev100)]
  const end = cx > PLOT.right - 260
  const at = end ? cx - 18 : cx + 18
  return `<line class="balance-line" x1="${n(cx)}" x2="${n(cx)}" y1="${n(cy)}" y2="${PLOT.bottom}"/>
<circle class="ring" cx="${n(cx)}" cy="${n(cy)}" r="14"/><circle class="dot" cx="${n(cx)}" cy="${n(cy)}" r="7"/>
<text class="name lamps-name big halo" x="${n(at)}" y="${n(cy - 20)}" text-anchor="${end ? 'end' : 'start'}">balance ${clock(b.local)}</text>
<text class="tick halo" x="${n(at)}" y="${n(cy - 3)}" text-anchor="${end ? 'end' : 'start'}">${escapeHtml(b.words)}</text>`
}

const clock = (local: string) => local.slice(11, 16)
const figure = (ev: number) => `${ev < 0 ? '−' : ''}${Math.abs(Number(ev.toFixed(1)))}`

const STYLE = scoped(
  'strip',
  `{display:block;width:100%;height:auto;font:14px system-ui,sans-serif;font-variant-numeric:tabular-nums}
.grid{stroke:#fff;stroke-opacity:.1}
.tick{fill:#b4bfd3}
.name{font-weight:600;fill:#e9edf5}
.big{font-size:17px}
.sky{fill:none;stroke:#7fb2ff;stroke-width:3}
.ground{fill:none;stroke:#7ddc9a;stroke-width:3}
.sky-name{fill:#a9ccff}
.ground-name{fill:#9be8b3}
.lamps{fill:#ffb45c;fill-opacity:.18}
.lamps-name{fill:#ffb45c}
.window{fill:#fff;fill-opacity:.09}
.dark{fill:#ff5a4f;fill-opacity:.14}
.dark-line{stroke:#ff8177;stroke-dasharray:5 5}
.dark-name{fill:#ff8177}
.event{stroke:#fff;stroke-opacity:.28}
.balance-line{stroke:#ffb45c;stroke-dasharray:3 5}
.ring{fill:none;stroke:#ffb45c}
.dot{fill:#ffb45c}
.halo{paint-order:stroke;stroke:#0a0e16;stroke-width:5px;stroke-linejoin:round}`,
)
