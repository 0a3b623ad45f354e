import { describe, expect, it } from 'vitest'
import type { DemoDocument } from '#jobs/contract'
import { demoSchema } from '#jobs/schemas'
import { renderDemoReport } from './demo-report.ts'

const demo: DemoDocument = {
  schema: 'demo/1',
  outing: 'a "night" & more',
  truth: 'a "night" & more/truth',
  report: 'a "night" & more/report.html',
  card: 'a "night" & more/field-card.html',
  contact: 'night/check.html',
  pictures: ['a "night" & more/prints/0001 town.jpg', '/elsewhere/secret.jpg'],
  seconds: 12.34,
  brackets: [
    {
      id: '0001',
      scene: 'town <by> the river',
      frames: 7,
      width: 4000,
      height: 3000,
      shiftErrorPixelsRms: 0.031,
      rotationErrorDegrees: null,
      radianceSlope: 1.02,
      radianceIntercept: -0.00012,
      noiseOverBound: null,
      preview: null,
      print: 'a "night" & more/prints/0001 town.jpg',
      seconds: 5.5,
      leftOut: [{ what: 'IMG_0003.DNG', reason: 'smeared', facts: {} }],
    },
  ],
  leftOut: [],
}

describe('the page of the demonstration', () => {
  const html = renderDemoReport(demoSchema.parse(demo))

  it('shows the figures with their limits and counts those that reach them', () => {
    expect(html).toContain('0.031 pixels RMS')
    expect(html).toContain('−0.00012 of saturation')
    expect(html).toContain('not measured')
    expect(html).toMatch(/<b>1 of 2<\/b> figures reach/)
  })

  it('escapes every value that comes from outside', () => {
    expect(html).toContain('town &lt;by&gt; the river')
    expect(html).not.toContain('<by>')
    expect(html).toContain('a &quot;night&quot; &amp; more')
  })

  it('stands alone: no scripts, no addresses outside its folder', () => {
    expect(html).not.toMatch(/<script|https?:|@import|url\(/)
    const links = [...html.matchAll(/(?:src|href)="([^"]*)"/g)].map((m) => m[1]!)
    expect(links).toContain('prints/0001%20town.jpg')
    for (const link of links) expect(link).not.toMatch(/^(\/|\.\.|[a-z]+:)/)
  })

  it('can be read without seeing: language, title, one first heading, text for every picture', () => {
    expect(html).toMatch(/<html lang="en">/)
    expect(html).toMatch(/<title>[^<]+<\/title>/)
    expect(html.match(/<h1/g)).toHaveLength(1)
    for (const image of html.match(/<img[^>]*>/g) ?? []) expect(image).toMatch(/alt="[^"]{10,}"/)
    for (const cell of html.match(/<th[ >][^>]*>?/g) ?? []) expect(cell).toContain('scope=')
  })

  it('names what was left out, and says so when nothing was', () => {
    expect(html).toContain('IMG_0003.DNG: smeared.')
    expect(html).toContain('Nothing: every file was used.')
  })

  it('has text that stands out from its background by at least 4.5 to 1 (WCAG 2.2, 1.4.3)', () => {
    const colour = (name: string) => html.match(new RegExp(`--${name}: (#[0-9a-f]{6})`))![1]!
    let worst = Number.POSITIVE_INFINITY
    for (const text of ['text', 'quiet', 'lamp', 'sky', 'reached', 'short'])
      for (const ground of ['night', 'panel']) worst = Math.min(worst, contrast(colour(text), colour(ground)))
    console.log(`least contrast ${worst.toFixed(1)} to 1`)
    expect(worst).toBeGreaterThan(4.5)
  })
})

/** WCAG 2.2, definitions of relative luminance and contrast ratio. */
function contrast(a: string, b: string): number {
  const luminance = (hex: string) => {
    const [r, g, b] = [1, 3, 5]
      .map((at) => Number.parseInt(hex.slice(at, at + 2), 16) / 255)
      .map((c) => (c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4))
    return 0.2126 * r! + 0.7152 * g! + 0.0722 * b!
  }
  const [light, dark] = [luminance(a), luminance(b)].sort((x, y) => y - x)
  return (light! + 0.05) / (dark! + 0.05)
}
