import { type CheckDocument, flagWords, sentenceForLeftOut } from '#jobs/contract'
import { renderBracketSpans } from './bracket-spans.ts'
import { escapeHtml, figure, linkBelow, page } from './html.ts'

type Bracket = CheckDocument['brackets'][number]

/** Doubts first, then what must be flown again, then what is doubtful, then what can be kept. */
const order = { 're-fly': 0, doubtful: 1, keep: 2 } as const

/** The frames of an outing, measured and judged, as one page. Takes values and measures nothing. */
export function renderContactReport(document: CheckDocument): string {
  const { brackets, doubts, frames } = document
  const sorted = [...brackets].sort((a, b) => order[a.verdict] - order[b.verdict] || (a.id < b.id ? -1 : 1))
  const count = (verdict: Bracket['verdict']) => brackets.filter((b) => b.verdict === verdict).length
  const body = [
    '<h1>Is it on the card, and is it sharp?</h1>',
    `<p class="answer"><b>${count('keep')}</b> of ${brackets.length} bracket${brackets.length === 1 ? '' : 's'} can be kept; ${count('doubtful')} doubtful, <b>${count('re-fly')}</b> to fly again.</p>`,
    `<p class="quiet">${frames.length} frames measured in ${escapeHtml(figure(document.seconds, 0, 's'))}.</p>`,
    doubts.length > 0
      ? `<h2>Only you can say</h2><ul>${doubts.map((d) => `<li>${escapeHtml(d.question)} <span class="quiet">(${escapeHtml(d.evidence)})</span></li>`).join('')}</ul>`
      : '',
    ...sorted.map((b) => bracketSection(document, b)),
    singlesSection(document),
    document.leftOut.length > 0
      ? `<h2>Left out</h2><ul>${document.leftOut.map((l) => `<li>${escapeHtml(sentenceForLeftOut(l))}</li>`).join('')}</ul>`
      : '',
  ]
  return page('Duskwork: the frames of an outing', body.filter((b) => b !== '').join('\n'))
}

const marks = { keep: 'reached', doubtful: 'doubt', 're-fly': 'short' } as const
const verdictWords = { keep: 'keep', doubtful: 'doubtful', 're-fly': 'fly again' } as const

const nameOf = (file: string) => file.split(/[\\/]/).at(-1)!

function bracketSection(document: CheckDocument, b: Bracket): string {
  const frames = b.frames.flatMap((file) => document.frames.filter((f) => f.file === file))
  const spans = renderBracketSpans({
    id: b.id,
    scene: b.scene,
    frames: frames.map((f) => ({ name: f.file, words: nameOf(f.file), span: f.span, best: f.file === b.best })),
  })
  const key = escapeHtml(b.id)
  return `<section class="bracket" aria-labelledby="check-${key}">
<h2 id="check-${key}">Bracket ${key}: <span class="${marks[b.verdict]}">${verdictWords[b.verdict]}</span></h2>
${b.reasons.length > 0 ? `<ul>${b.reasons.map((r) => `<li>${escapeHtml(r.words)}</li>`).join('')}</ul>` : ''}
${b.advice.length > 0 ? `<p><b>Next time:</b> ${b.advice.map(escapeHtml).join(' ')}</p>` : ''}
${thumbnails(document, frames, b.best)}
<figure>${spans}</figure>
</section>`
}

/** Frames of no bracket are shown for what they are; nothing is asked of them. */
function singlesSection(document: CheckDocument): string {
  const inBrackets = new Set(document.brackets.flatMap((b) => b.frames))
  const singles = document.frames.filter((f) => !inBrackets.has(f.file))
  if (singles.length === 0) return ''
  return `<section class="bracket" aria-labelledby="check-singles">
<h2 id="check-singles">Single frames</h2>
${thumbnails(document, singles, null)}
</section>`
}

function thumbnails(document: CheckDocument, frames: CheckDocument['frames'], best: string | null): string {
  const cells = frames.map((f) => {
    const link = f.thumbnail === null ? null : linkBelow(document.outing, f.thumbnail)
    const found = [
      f.smear && `smear ${figure(f.smear.pixels, 1, 'px')}`,
      f.focus && `blur ${figure(f.focus.blurPixels, 1, 'px')}`,
    ].filter(Boolean)
    const words = [`${nameOf(f.file)}${f.file === best ? ', the sharpest' : ''}`, found.join(', ')]
      .filter(Boolean)
      .join(': ')
    const picture = link === null ? '' : `<img src="${escapeHtml(link)}" alt="" width="240">`
    return `<li>${picture}<span>${escapeHtml(words)}${f.flags.map((flag) => `<br><span class="quiet">${escapeHtml(flagWords(flag))}</span>`).join('')}</span></li>`
  })
  return `<ul class="contact">${cells.join('')}</ul>`
}
