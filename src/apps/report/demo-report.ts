import { type DemoBracket, type DemoDocument, sentenceForLeftOut } from '#jobs/contract'
import { escapeHtml, figure, linkBelow, page } from './html.ts'

/** One measured figure beside what it should reach; `limit` null where only the value is told. */
interface Measure {
  readonly name: string
  readonly found: string
  readonly wanted: string
  readonly reached: boolean | null
}

/** The demonstration as one page to open in a browser. Takes values and measures nothing. */
export function renderDemoReport(document: DemoDocument): string {
  const { brackets } = document
  const measures = brackets.flatMap(measuresOf).filter((m) => m.reached !== null)
  const reached = measures.filter((m) => m.reached).length
  const merging = brackets.reduce((sum, b) => sum + b.seconds, 0)
  const body = [
    '<h1>Does it work on this machine?</h1>',
    `<p class="answer">${brackets.length} bracket${brackets.length === 1 ? '' : 's'} merged in
 <b>${escapeHtml(figure(merging, 1, 's'))}</b>; <b>${reached} of ${measures.length}</b> figures reach what they should.</p>`,
    `<p>The scenes are made, so the truth is known: where each frame stood, how bright every point is, how much noise the
 sensor adds. The frames were written as raw files, read back, grouped, merged and printed like anybody’s; then the result
 was held against the truth. All of it took ${escapeHtml(figure(document.seconds, 0, 's'))}.</p>`,
    ...brackets.map((b) => bracketSection(document, b)),
    '<h2>What was left out</h2>',
    leftOutList(document.leftOut, 'Nothing: every file was used.'),
    '<h2>Where the files are</h2>',
    filesList(document),
  ]
  return page('Duskwork: the demonstration', body.join('\n'))
}

function measuresOf(b: DemoBracket): Measure[] {
  const within = (value: number | null, most: number) => (value === null ? null : Math.abs(value) <= most)
  const measures: Measure[] = [
    {
      name: 'Movement between frames, error',
      found: figure(b.shiftErrorPixelsRms, 3, 'pixels RMS'),
      wanted: 'at most 0.050 pixels',
      reached: within(b.shiftErrorPixelsRms, 0.05),
    },
    {
      name: 'Rotation between frames, largest error',
      found: figure(b.rotationErrorDegrees, 4, 'degrees'),
      wanted: 'small',
      reached: null,
    },
    {
      name: 'Brightness, slope against the truth',
      found: figure(b.radianceSlope, 4),
      wanted: '1.0000 within 0.5 %',
      reached: within(b.radianceSlope === null ? null : b.radianceSlope - 1, 0.005),
    },
    {
      name: 'Brightness, offset from the truth',
      found: figure(b.radianceIntercept, 5, 'of saturation'),
      wanted: 'zero',
      reached: null,
    },
  ]
  if (b.noiseOverBound !== null)
    measures.push({
      name: 'Noise, over the least these frames allow',
      found: figure(b.noiseOverBound, 3, 'times'),
      wanted: 'at most 1.050 times',
      reached: b.noiseOverBound <= 1.05,
    })
  return measures
}

function bracketSection(document: DemoDocument, b: DemoBracket): string {
  const picture = b.print ?? b.preview
  const link = picture === null ? null : linkBelow(document.outing, picture)
  const caption = `${b.frames} frames of ${b.width} × ${b.height} pixels as one print.`
  const rows = measuresOf(b).map(
    (m) =>
      `<tr><th scope="row">${escapeHtml(m.name)}</th><td>${escapeHtml(m.found)}</td><td>${escapeHtml(m.wanted)}</td><td>${mark(m.reached)}</td></tr>`,
  )
  return `<section class="bracket" aria-labelledby="bracket-${escapeHtml(b.id)}">
<h2 id="bracket-${escapeHtml(b.id)}">Bracket ${escapeHtml(b.id)}</h2>
<p class="quiet">${escapeHtml(b.scene)}; merged in ${escapeHtml(figure(b.seconds, 1, 's'))}</p>
${link === null ? '<p class="short">No picture was written.</p>' : `<figure><img src="${escapeHtml(link)}" alt="${escapeHtml(b.scene)}"><figcaption>${escapeHtml(caption)} <a href="${escapeHtml(link)}">Full size</a></figcaption></figure>`}
<div class="scroll"><table>
<thead><tr><th scope="col">Measured</th><th scope="col">Found</th><th scope="col">Should be</th><th scope="col">Reached</th></tr></thead>
<tbody>
${rows.join('\n')}
</tbody>
</table></div>
${b.leftOut.length > 0 ? `<h3>Left out of this bracket</h3>${leftOutList(b.leftOut, '')}` : ''}
</section>`
}

function mark(reached: boolean | null): string {
  if (reached === null) return '<span class="quiet">told only</span>'
  return reached ? '<span class="reached">yes</span>' : '<span class="short">no</span>'
}

function leftOutList(leftOut: DemoDocument['leftOut'], nothing: string): string {
  if (leftOut.length === 0) return `<p>${escapeHtml(nothing)}</p>`
  return `<ul>${leftOut.map((l) => `<li>${escapeHtml(sentenceForLeftOut(l))}</li>`).join('')}</ul>`
}

function filesList({ outing, truth, card, contact, pictures }: DemoDocument): string {
  const entry = (path: string, what: string) => {
    const link = linkBelow(outing, path)
    const name = escapeHtml(link === null ? path : decodeURIComponent(link))
    return `<li>${link === null ? name : `<a href="${escapeHtml(link)}">${name}</a>`}: ${escapeHtml(what)}</li>`
  }
  return `<p>All in the folder <code>${escapeHtml(outing)}</code>; it can be deleted at any time.</p>
<ul>
<li>originals: the raw files, as a camera would have left them</li>
<li>brackets: per bracket the radiance image, its variance, a preview and the record</li>
${entry(card, 'the plan of the evening, on one page for the phone or for paper')}
${contact === null ? '' : entry(contact, 'the frames judged: what is sharp, what is clipped, what to keep')}
${entry(truth, 'what the scenes really are')}
${pictures.map((p) => entry(p, 'picture')).join('\n')}
</ul>`
}
