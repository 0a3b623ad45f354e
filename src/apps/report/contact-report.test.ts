import { join } from 'node:path'
import type { Browser } from 'playwright-core'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import type { CheckDocument } from '#jobs/contract'
import { checkSchema } from '#jobs/schemas'
import { accessibilityFaults } from '../../../test/accessibility.ts'
import { openBrowser } from '../../../test/browser.ts'
import { renderContactReport } from './contact-report.ts'

const pictures = process.env['DUSKWORK_PICTURES']

/** Made-up figures, for the page alone. */
function document(): CheckDocument {
  const frame = (n: number, stops: number) => ({
    file: `weir/originals/DUSK_000${n}.DNG`,
    smear: n === 4 ? null : { pixels: 0.2 * n, directionDegrees: 30, confidence: 0.9 },
    focus: { blurPixels: 0.6 },
    clipped: { r: 0.01, g: 0.02, b: 0.001 },
    noise: { readElectrons: 1.8, gain: 0.64 },
    tiltDegrees: 0.3,
    flags: n === 4 ? ['strobe'] : [],
    span: { lowStops: -9 - stops, highStops: -stops },
    thumbnail: null,
  })
  const bracket = (id: string, verdict: 'keep' | 'doubtful' | 're-fly') => ({
    id,
    frames: [1, 2, 3, 4].map((n) => `weir/originals/DUSK_000${n}.DNG`),
    verdict,
    reasons:
      verdict === 'keep'
        ? []
        : [
            {
              rule: 'smear',
              value: 2.1,
              limit: 1.5,
              words: 'Even the best frame is smeared by 2.1 px (limit 1.5 px).',
            },
          ],
    best: 'weir/originals/DUSK_0002.DNG',
    advice: verdict === 'keep' ? [] : ['Shorten by 1 stop.'],
    scene: { lowStops: -10, highStops: 3 },
  })
  return {
    schema: 'check/1',
    outing: 'weir',
    frames: [1, 2, 3, 4].map((n) => frame(n, 2 * (n - 2))),
    brackets: [bracket('0001', 'keep'), bracket('0002', 're-fly'), bracket('0003', 'doubtful')],
    doubts: [
      { brackets: ['0001'], question: 'Is the frame before it part of bracket <0001>?', evidence: '2.1 s apart' },
    ],
    report: 'weir/contact.html',
    seconds: 3,
    leftOut: [{ what: 'weir/originals/BAD.DNG', reason: 'empty-file', facts: {} }],
  }
}

describe('the contact report', () => {
  const html = renderContactReport(checkSchema.parse(document()))

  it('puts doubts first, then what must be flown again', () => {
    const at = (text: string) => html.indexOf(text)
    expect(at('Only you can say')).toBeGreaterThan(0)
    expect(at('Only you can say')).toBeLessThan(at('Bracket 0002'))
    expect(at('Bracket 0002')).toBeLessThan(at('Bracket 0003'))
    expect(at('Bracket 0003')).toBeLessThan(at('Bracket 0001'))
    expect(html).toContain('&lt;0001&gt;')
    expect(html).toContain('Shorten by 1 stop.')
  })

  it('asks for nothing and says every bracket as spans over its scene', () => {
    expect(html).not.toMatch(/<script|https?:\/\/(?!www\.w3\.org)/)
    expect(html.match(/class="spans"/g)).toHaveLength(3)
  })

  describe('in a browser', () => {
    let browser: Browser
    beforeAll(async () => {
      browser = await openBrowser()
    })
    afterAll(async () => browser?.close())

    it.each([1280, 390])('passes the accessibility rules at %i px', async (width) => {
      const page = await browser.newPage({ viewport: { width, height: 900 } })
      await page.setContent(html)
      if (pictures) await page.screenshot({ path: join(pictures, `contact-${width}.png`), fullPage: true })
      expect(await accessibilityFaults(page)).toEqual([])
      expect(await page.evaluate('document.documentElement.scrollWidth')).toBeLessThanOrEqual(width)
      await page.close()
    })
  })
})
