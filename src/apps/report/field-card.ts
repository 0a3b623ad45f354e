import { neverWords, type PlanDocument, type PlanViewpoint, sentenceForLeftOut, shutter } from '#jobs/contract'
import { escapeHtml, figure } from './html.ts'
import { bestView, cardBracket, cardDate, clockOf, zoneOf } from './plan-words.ts'
import { inColumns, sheetSize } from './sheet-size.ts'

/**
 * The pilot's one page: big digits, black and one red, readable without a network, a script or white light; on paper it
 * turns black on white and is one sheet of A4 or Letter. Takes values and measures nothing.
 */
export function renderFieldCard(plan: PlanDocument): string {
  const dusk = plan.viewpoints.filter((v) => v.set === 'dusk')
  const dark = plan.viewpoints.filter((v) => v.set === 'dark')
  const title = `${plan.title}, ${cardDate(plan.date)}`
  return `<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'">
<meta name="color-scheme" content="dark">
<title>Field card: ${escapeHtml(title)}</title>
<style>:root{--size:${sizeOf(plan)}pt}
${STYLE}</style>
</head>
<body${inColumns(plan.viewpoints.length) ? ' class="columns"' : ''}>
<main>
<header><h1>${escapeHtml(title)}</h1><p class="zone">${escapeHtml(plan.siteName)} · all times ${escapeHtml(zoneOf(plan))}</p></header>
${headline(plan)}
${keyFigures(plan)}
${plan.viewpoints.length === 0 ? '<p class="big-note">No viewpoint can be flown as stated. The reasons stand below.</p>' : ''}
${setOf('At dusk', dusk)}
${setOf('After dark', dark)}
${late(plan)}
${leftOut(plan)}
${cautions(plan)}
</main>
</body>
</html>
`
}

/** Every text that runs over the whole width, as it is set below. */
const sizeOf = (plan: PlanDocument): number =>
  sheetSize({
    viewpoints: plan.viewpoints,
    sections: 4,
    texts: [...plan.cautions, ...leftOutWords(plan), lateWords(plan).join(' · '), rulesWords(plan)],
  })

function headline(plan: PlanDocument): string {
  // Where nothing is flown the reasons are the headline.
  if (plan.viewpoints.length === 0) return ''
  const best = bestView(plan)
  const parts = [
    plan.upByLocal ? `up by <b>${clockOf(plan.upByLocal)}</b>` : '',
    plan.homeByLocal ? `home by <b>${clockOf(plan.homeByLocal)}</b>` : '',
  ].filter((p) => p !== '')
  const big = best?.balanceLocal
    ? `<p class="big"><b>${clockOf(best.balanceLocal)}</b> <span>sky and lamps balance: ${escapeHtml(best.name)}</span></p>`
    : '<p class="big-note">Sky and lamps do not balance this evening.</p>'
  return `${big}${parts.length > 0 ? `<p class="line">${parts.join(' · ')}</p>` : ''}`
}

function keyFigures(plan: PlanDocument): string {
  const event = (name: string) => {
    const found = plan.events.find((e) => e.name === name)
    return found?.local ? clockOf(found.local) : 'never'
  }
  const rows: [string, string][] = [
    [
      'return height',
      plan.returnHeightMetres === null ? (plan.returnReason ?? 'none') : figure(plan.returnHeightMetres, 0, 'm'),
    ],
    ['home point', `${figure(plan.home.latitude, 5)}, ${figure(plan.home.longitude, 5)}`],
    ['sunset', event('sunset')],
    ['civil dusk, sun −6°', event('civil-dusk')],
    ['civil, 30-minute rule', event('civil-dusk-30min')],
    [
      'obstacle sensors blind',
      plan.sensing.local ? `from ${clockOf(plan.sensing.local)}` : neverWords(plan.sensing.never),
    ],
    ['wind up there', figure(plan.windAloftMetresPerSecond, 0, 'm/s')],
    ['moon', `${Math.round(100 * plan.moon.fraction)} %`],
    ['batteries', String(plan.batteries)],
  ]
  const cells = rows.map(([name, value]) => `<div><dt>${escapeHtml(name)}</dt><dd>${escapeHtml(value)}</dd></div>`)
  return `<dl class="keys">${cells.join('')}</dl>`
}

function setOf(title: string, viewpoints: readonly PlanViewpoint[]): string {
  if (viewpoints.length === 0) return ''
  return `<section><h2>${title}</h2><ol>${viewpoints.map(viewpoint).join('')}</ol></section>`
}

function viewpoint(v: PlanViewpoint): string {
  const where = `${figure(v.heightMetres, 0, 'm')} high · look ${String(Math.round((v.headingDegrees + 360) % 360)).padStart(3, '0')}° · tilt ${figure(v.tiltDegrees, 0)}°`
  const leave = v.leaveByLocal
    ? `leave by <b>${clockOf(v.leaveByLocal)}</b>${v.leaveWithPercent === null ? '' : ` with ${Math.ceil(v.leaveWithPercent)} %`}`
    : escapeHtml(v.never ?? '')
  return `<li>
<p class="at"><b>${clockOf(v.arriveLocal)}</b> <strong>${escapeHtml(v.name)}</strong></p>
<p class="set">f/${v.settings.fNumber} · ISO ${v.settings.iso} · <b>${shutter(v.settings.shutterSeconds)}</b></p>
<p class="detail">${escapeHtml(cardBracket(v.bracket))}${repeatsWords(v.repeats)}</p>
<p class="detail">${where} · ${leave}${v.battery > 1 ? ` · battery ${v.battery}` : ''}</p>
</li>`
}

function repeatsWords(repeats: number | null): string {
  if (repeats === null) return ' · <b>too unsteady for any number of tries</b>'
  return repeats > 1 ? ` · <b>${repeats} times</b>` : ''
}

/** What ten minutes of delay change: only viewpoints whose setting moves. */
const lateWords = ({ viewpoints }: PlanDocument): string[] =>
  viewpoints.flatMap((v) => {
    if (!v.tenMinutesLate || v.set === 'dark') return []
    const { settings } = v.tenMinutesLate
    const same = settings.shutterSeconds === v.settings.shutterSeconds && settings.iso === v.settings.iso
    return same ? [] : [`${v.name}: ${shutter(settings.shutterSeconds)} ISO ${settings.iso}`]
  })

function late(plan: PlanDocument): string {
  const words = lateWords(plan)
  return words.length > 0 ? `<p class="late">Ten minutes late: ${words.map(escapeHtml).join(' · ')}</p>` : ''
}

const leftOutWords = ({ leftOut }: PlanDocument): string[] => leftOut.map(sentenceForLeftOut)

function leftOut(plan: PlanDocument): string {
  const words = leftOutWords(plan)
  if (words.length === 0) return ''
  return `<section><h2>Not in this plan</h2><ul>${words.map((w) => `<li>${escapeHtml(w)}</li>`).join('')}</ul></section>`
}

const rulesWords = ({ rules }: PlanDocument): string => {
  const cited = rules.map((r) => `${r.where}: ${r.what} (${r.source}; as of ${r.asOf}).`).join(' ')
  return `Rules differ by place and change. For example: ${cited} You decide; this card does not.`
}

const cautions = (plan: PlanDocument): string =>
  `<section><h2>Before you fly</h2><ul>${plan.cautions.map((c) => `<li>${escapeHtml(c)}</li>`).join('')}</ul>
<p class="rules"><b>Check your local rules.</b> ${escapeHtml(rulesWords(plan))}</p></section>`

// Red on black is 5.6:1 (#ff4436 on #000); smaller words take the same red, never a darker one.
const STYLE = `:root{--ink:#ff4436;--paper:#000;--line:#7a1d16}
*{box-sizing:border-box;margin:0}
body{background:var(--paper);color:var(--ink);font:17px/1.35 system-ui,sans-serif;font-variant-numeric:tabular-nums}
main{max-width:720px;margin:0 auto;padding:14px 16px 40px}
h1{font-size:19px}.zone{font-size:15px}
h2{font-size:16px;margin:18px 0 2px;padding-bottom:3px;border-bottom:2px solid var(--line)}
.big{font-size:19px;margin-top:8px}.big b{font-size:62px;line-height:1;letter-spacing:-1px;margin-right:8px}
.big-note{font-size:22px;font-weight:700;margin-top:10px}
.line{font-size:20px;margin:2px 0 8px}
.keys{display:grid;grid-template-columns:1fr 1fr;column-gap:18px}
.keys div{display:flex;justify-content:space-between;gap:10px;border-top:1px solid var(--line);padding:4px 0}
.keys dd{font-weight:700;text-align:right}
ol,ul{padding:0;list-style:none}
ol li{border-top:1px solid var(--line);padding:7px 0;display:grid;grid-template-columns:auto 1fr;column-gap:14px}
ol li:first-child{border-top:0}
.at{grid-column:1/3;font-size:19px}.at b{font-size:30px;margin-right:8px}
.set{grid-column:1/3;font-size:20px}.detail{grid-column:1/3}
ul li{padding:3px 0 3px 16px;text-indent:-16px}ul li::before{content:"– "}
.late{border-top:1px solid var(--line);margin-top:6px;padding-top:7px}.rules{margin-top:8px;font-size:15px}
@media (max-width:420px){.keys{grid-template-columns:1fr}}
@page{margin:10mm}
@media print{:root{--ink:#000;--paper:#fff;--line:#888}
body{font-size:var(--size);line-height:1.25}main{max-width:none;padding:0}
h1{font-size:1.3em}.zone{font-size:.95em}.big{margin:0}.big b{font-size:2.6em}.big,.line{font-size:1.2em}.line{margin:0 0 .3em}.big-note{font-size:1.4em}
h2{font-size:1.05em;margin:.6em 0 0;padding:0;border-width:1px}
.keys{grid-template-columns:1fr 1fr}.keys div{padding:.12em 0}
ol li{grid-template-columns:1fr auto;padding:.3em 0;break-inside:avoid}
.at{grid-column:1;font-size:1.1em}.at b{font-size:1.2em}.set{grid-column:2;font-size:1.1em;text-align:right}
.detail,ul li,.rules,.late{font-size:.88em}ul li{padding:.1em 0 .1em 1.2em;text-indent:-1.2em}.rules{margin-top:.3em}
.columns ol{columns:2;column-gap:1.5em}.columns ol li{display:block}.columns .set{text-align:left}}`
