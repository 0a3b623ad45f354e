import { mkdirSync } from 'node:fs'
import { join } from 'node:path'
import type { Browser } from 'playwright-core'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import type { PlanDocument } from '#jobs/contract'
import { accessibilityFaults } from '../../../test/accessibility.ts'
import { openBrowser } from '../../../test/browser.ts'
import { renderEveningPage } from './evening-page.ts'
import { renderFieldCard } from './field-card.ts'
import { planOf } from './plan.fixture.ts'

/** Leaves the pictures where somebody can look at them; nothing without the variable. */
const pictures = process.env['DUSKWORK_PICTURES']

/** Names and sentences as long as a document allows. */
const wordy = (plan: PlanDocument): PlanDocument => ({
  ...plan,
  viewpoints: plan.viewpoints.map((v) => ({ ...v, name: `${v.name} ${'and farther on '.repeat(5)}`.slice(0, 80) })),
  cautions: [...plan.cautions, ...plan.cautions.map((c) => `${c} ${c}`)],
})

const plans = [
  ['nothing to fly', planOf(0, 0, 3)],
  ['five viewpoints and one after dark', planOf(5, 1)],
  ['eight viewpoints, four after dark, two left out', planOf(8, 4, 2)],
  ['the most there can be', planOf(12, 12, 4)],
  ['long names and many cautions', wordy(planOf(7, 3, 6))],
] as const

describe('the field card', () => {
  let browser: Browser
  beforeAll(async () => {
    browser = await openBrowser()
  })
  afterAll(async () => browser?.close())

  const open = async (html: string, size: { width: number; height: number }) => {
    const requests: string[] = []
    const page = await browser.newPage({ viewport: size, reducedMotion: 'reduce' })
    page.on('request', (r) => requests.push(r.url()))
    await page.setContent(html)
    return { page, requests }
  }
  const save = async (page: Awaited<ReturnType<typeof open>>['page'], name: string) => {
    if (!pictures) return
    mkdirSync(pictures, { recursive: true })
    await page.screenshot({ path: join(pictures, `${name}.png`), fullPage: true })
  }

  it.each(plans)('is one sheet of A4 and one of Letter: %s', async (name, plan) => {
    const { page } = await open(renderFieldCard(plan), { width: 390, height: 844 })
    for (const format of ['A4', 'Letter'] as const) {
      const pdf = await page.pdf({ format, printBackground: true })
      const sheets = pdf.toString('latin1').match(/\/Type\s*\/Page\b(?!s)/g)?.length
      if (pictures) await page.pdf({ path: join(pictures, `card-${name.slice(0, 5)}-${format}.pdf`), format })
      expect(sheets, format).toBe(1)
    }
    await page.close()
  })

  it.each(plans)('asks for nothing, passes the accessibility rules, and fits a phone: %s', async (name, plan) => {
    const html = renderFieldCard(plan)
    console.log(`field card, ${name}: ${html.length} bytes`)
    expect(html.length).toBeLessThan(200_000)
    expect(html).not.toMatch(/<script|https?:\/\/|@import|url\(/)
    const { page, requests } = await open(html, { width: 390, height: 844 })
    await save(page, `card-phone-${name.replaceAll(' ', '-')}`)
    expect(await accessibilityFaults(page)).toEqual([])
    expect(requests.filter((url) => !url.startsWith('about:'))).toEqual([])
    // Nothing runs out at the side, and nothing is smaller than can be read at arm's length.
    expect(await page.evaluate('document.documentElement.scrollWidth')).toBeLessThanOrEqual(390)
    const smallest = await page.evaluate(
      `Math.min(...[...document.querySelectorAll('body *')].filter((e) => e.children.length === 0 && e.textContent.trim()).map((e) => parseFloat(getComputedStyle(e).fontSize)))`,
    )
    expect(smallest).toBeGreaterThanOrEqual(15)
    await page.close()
  })

  it('is black with one red on the screen', async () => {
    const { page } = await open(renderFieldCard(planOf(5, 1)), { width: 390, height: 844 })
    const colours = (await page.evaluate(
      `[...new Set([...document.querySelectorAll('body, body *')].flatMap((e) => { const s = getComputedStyle(e); return [s.color, s.backgroundColor] }))]`,
    )) as string[]
    for (const colour of colours) {
      const [r, g, b] = colour.match(/[\d.]+/g)!.map(Number) as [number, number, number]
      expect(g <= 0.35 * r && b <= 0.35 * r, colour).toBe(true)
    }
    await page.close()
  })
})

describe('the page of an evening', () => {
  let browser: Browser
  beforeAll(async () => {
    browser = await openBrowser()
  })
  afterAll(async () => browser?.close())

  it.each([
    [1280, 5],
    [390, 5],
    [1280, 0],
  ])('passes the accessibility rules at %i px with %i viewpoints', async (width, count) => {
    const page = await browser.newPage({ viewport: { width, height: 900 } })
    await page.setContent(renderEveningPage(planOf(count, 0, 1), 'field-card.html'))
    if (pictures) await page.screenshot({ path: join(pictures, `evening-${width}-${count}.png`), fullPage: true })
    expect(await accessibilityFaults(page)).toEqual([])
    expect(await page.evaluate('document.documentElement.scrollWidth')).toBeLessThanOrEqual(width)
    await page.close()
  })
})
