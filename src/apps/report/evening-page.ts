import type { LightDocument, PlanDocument, PlanViewpoint } from '#jobs/contract'
import { neverWords, sentenceForLeftOut, shutter } from '#jobs/contract'
import { escapeHtml, figure, page } from './html.ts'
import { type LightStrip, renderLightStrip, type StripBand, type StripMark } from './light-strip.ts'
import { renderPlanView } from './plan-view.ts'
import { bestView, cardBracket, cardDate, clockOf, zoneOf } from './plan-words.ts'
import { renderWayHome } from './way-home.ts'

/** Events that the strip has room for; the table below it has all of them. */
const SHOWN = new Map([
  ['sunset', 'sunset'],
  ['civil-dusk', 'civil dusk'],
  ['nautical-dusk', 'nautical dusk'],
  ['astronomical-dusk', 'astronomical dusk'],
])

const marksOf = (events: LightDocument['events']): StripMark[] =>
  events.flatMap((e) => {
    const words = SHOWN.get(e.name)
    return words && e.utc && e.local ? [{ words, utc: e.utc, local: e.local }] : []
  })

type Balance = LightDocument['balance'][number]

/** The level of one subject as a thin band; the published ranges are told in words beside the table. */
const bandOf = (b: Balance): StripBand => ({
  words: b.words.split(/,| and /)[0]!,
  lowEv100: b.subjectEv100,
  highEv100: b.subjectEv100,
})

function balanceMark(b: Balance | undefined): LightStrip['balance'] {
  if (!b?.utc || !b.local) return null
  const stop = (b.minutesPerStop ?? 4) * 60_000
  const at = Date.parse(b.utc)
  const pace = b.minutesPerStop === null ? '' : `, falling a stop every ${figure(b.minutesPerStop, 0, 'min')}`
  return {
    utc: b.utc,
    local: b.local,
    ev100: b.subjectEv100,
    words: `sun ${figure(b.sunAltitude, 1)}°${pace}`,
    from: new Date(at - stop).toISOString(),
    to: new Date(at + stop).toISOString(),
  }
}

/** The light of an evening as a page: the strip, the events, the minutes of balance. */
export function renderLightPage(light: LightDocument): string {
  const lit = light.balance.find((b) => b.subject === 'floodlit') ?? light.balance[0]
  const strip = renderLightStrip({
    points: light.minutes.map((m) => ({ ...m, groundEv100: m.ev100 })),
    events: marksOf(light.events),
    bands: lit ? [bandOf(lit)] : [],
    balance: balanceMark(lit),
    tooDark: null,
    title: `The light of ${cardDate(light.date)}`,
    description: stripWords(lit, light.events),
  })
  const body = [
    '<h1>Which evening, and which minute?</h1>',
    `<p class="answer">${answer(lit)}</p>`,
    `<figure class="panel">${strip}</figure>`,
    eventsTable(light.events),
    balanceTable(light.balance),
    basis(light.basis),
  ]
  return page(`Duskwork: the light of ${cardDate(light.date)}`, body.join('\n'))
}

function answer(lit: Balance | undefined): string {
  if (!lit?.local || !lit.utc) return `Sky and ${escapeHtml(lit?.words ?? 'lamps')} do not meet this evening.`
  return `Sky and ${escapeHtml(lit.words)} meet at <b>${clockOf(lit.local)}</b>.`
}

const stripWords = (lit: Balance | undefined, events: LightDocument['events']) =>
  [
    lit?.local ? `Sky and ${lit.words} meet at ${clockOf(lit.local)}.` : 'Sky and lit subjects do not meet.',
    ...marksOf(events).map((m) => `${m.words} ${clockOf(m.local)}.`),
  ].join(' ')

const eventNames: Readonly<Record<string, string>> = {
  'civil-dusk': 'civil dusk, sun at −6°',
  'civil-dusk-30min': 'civil dusk by the 30-minute rule',
}

function eventsTable(events: LightDocument['events']): string {
  const rows = events.map((e) => {
    const name = eventNames[e.name] ?? e.name.replaceAll('-', ' ')
    return `<tr><th scope="row">${escapeHtml(name)}</th><td>${e.local ? escapeHtml(e.local.slice(11, 19)) : escapeHtml(neverWords(e.never))}</td></tr>`
  })
  return `<h2>The evening by the clock</h2><table><tbody>${rows.join('')}</tbody></table>`
}

function balanceTable(balance: readonly Balance[]): string {
  const rows = balance.map(
    (b) =>
      `<tr><th scope="row">${escapeHtml(b.words)}</th><td>EV ${figure(b.subjectEv100, 1)}</td><td>${b.local ? clockOf(b.local) : escapeHtml(neverWords(b.never))}</td><td>${b.sunAltitude === null ? '' : `sun ${figure(b.sunAltitude, 1)}°`}</td></tr>`,
  )
  return `<h2>When the sky equals what is lit</h2><div class="scroll"><table><thead><tr><th scope="col">Subject</th><th scope="col">Level</th><th scope="col">Time</th><th scope="col">Sun</th></tr></thead><tbody>${rows.join('')}</tbody></table></div>`
}

const basis = (lines: readonly string[]) =>
  `<h2>Where the numbers come from</h2><ul class="quiet">${lines.map((l) => `<li>${escapeHtml(l)}</li>`).join('')}</ul>`

/** The plan of an evening as a page: light, settings, the way home, the field from above, and what was left out. */
export function renderEveningPage(plan: PlanDocument, cardLink: string): string {
  const best = bestView(plan)
  const lit = best ? plan.balance.find((b) => b.subject === best.subject) : plan.balance[0]
  const used = plan.balance.filter((b) => plan.viewpoints.some((v) => v.subject === b.subject))
  const strip = renderLightStrip({
    points: plan.strip,
    events: marksOf(plan.events),
    bands: used.map(bandOf),
    balance: balanceMark(lit),
    tooDark:
      plan.hoverLimitEv100 === null ? null : { ev100: plan.hoverLimitEv100, words: 'at the longest steady shutter' },
    title: `The light of ${cardDate(plan.date)}`,
    description: stripWords(lit, plan.events),
  })
  const body = [
    '<h1>Which minute, which settings, and the way back</h1>',
    `<p class="answer">${planAnswer(plan, best)}</p>`,
    `<p><a href="${escapeHtml(cardLink)}">Open the field card</a>: one page for the phone or for paper.</p>`,
    `<figure class="panel">${strip}</figure>`,
    settingsTable(plan),
    plan.viewpoints.length > 0 ? '<h2>The way home</h2>' : '',
    `<div class="pair">${plan.viewpoints
      .filter((v) => v.set === 'dusk')
      .map((v, i) => wayFigure(plan, v, i))
      .join('')}</div>`,
    plan.viewpoints.length > 0
      ? `<p class="quiet">Heights above take-off; margin ${figure(plan.clearanceMetres, 0, 'm')}. What is not on the list of obstacles is not in the picture.</p>`
      : '',
    plan.viewpoints.length > 0 ? `<h2>From above</h2><figure class="panel">${renderPlanView(plan)}</figure>` : '',
    eventsTable(plan.events),
    leftOutList(plan),
    `<h2>Before you fly</h2><ul>${plan.cautions.map((c) => `<li>${escapeHtml(c)}</li>`).join('')}</ul>
<p>Check your local rules: they differ by place and change. ${plan.rules.map((r) => `${escapeHtml(r.where)}: ${escapeHtml(r.what)} (${escapeHtml(r.source)}; as of ${escapeHtml(r.asOf)}).`).join(' ')} You decide.</p>`,
    basis(plan.basis),
  ]
  return page(`Duskwork: ${plan.title}`, body.filter((b) => b !== '').join('\n'))
}

function planAnswer(plan: PlanDocument, best: PlanViewpoint | undefined): string {
  const times = `all times ${escapeHtml(zoneOf(plan))}`
  if (plan.viewpoints.length === 0) return `Nothing here can be flown as stated; the reasons stand below; ${times}.`
  const height =
    plan.returnHeightMetres === null
      ? escapeHtml(plan.returnReason ?? 'There is no return height')
      : `Return height <b>${figure(plan.returnHeightMetres, 0, 'm')}</b>`
  const meet = best?.balanceLocal ? `Sky and lamps meet at <b>${clockOf(best.balanceLocal)}</b>. ` : ''
  const home = plan.homeByLocal ? `, home by <b>${clockOf(plan.homeByLocal)}</b>` : ''
  return `${meet}${height}${home}; ${times}.`
}

function settingsTable(plan: PlanDocument): string {
  const rows = plan.viewpoints.map(
    (v) =>
      `<tr><th scope="row">${clockOf(v.arriveLocal)} ${escapeHtml(v.name)}</th><td>f/${v.settings.fNumber}, ISO ${v.settings.iso}, ${shutter(v.settings.shutterSeconds)}</td><td>${escapeHtml(cardBracket(v.bracket))}</td><td>${v.repeats ?? 'none would do'}, each kept ${Math.round(100 * v.keepOdds)} %${v.keepBasis === 'default' ? ' (not learnt yet)' : ''}</td><td>${v.leaveByLocal ? clockOf(v.leaveByLocal) : escapeHtml(v.never ?? '')}</td><td>${v.remarks.map((r) => escapeHtml(r.words)).join(' ')}</td></tr>`,
  )
  if (rows.length === 0) return ''
  return `<h2>What to set</h2><div class="scroll" tabindex="0" role="region" aria-label="What to set"><table><thead><tr><th scope="col">Where</th><th scope="col">Middle frame</th><th scope="col">Bracket</th><th scope="col">Repeats</th><th scope="col">Leave by</th><th scope="col">To know</th></tr></thead><tbody>${rows.join('')}</tbody></table></div>`
}

function wayFigure(plan: PlanDocument, v: PlanViewpoint, index: number): string {
  const way = {
    ...v.wayHome,
    name: v.name,
    viewpointMetres: v.heightMetres,
    returnMetres: plan.returnHeightMetres,
    ceilingMetres: plan.ceilingMetres,
  }
  return `<figure class="panel">${renderWayHome(way, String(index))}</figure>`
}

function leftOutList({ leftOut }: PlanDocument): string {
  if (leftOut.length === 0) return ''
  const items = leftOut.map((l) => `<li>${escapeHtml(sentenceForLeftOut(l))}</li>`)
  return `<h2>Not in this plan</h2><ul>${items.join('')}</ul>`
}
