// The page in a real browser, from an empty folder to an exported file and a printed field card.
import { existsSync, mkdirSync, readdirSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import process from 'node:process'
import type { Browser, Page } from 'playwright-core'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { copyManifestSchema, looksSchema, outingSchema, printRecordSchema } from '#jobs/schemas'
import { accessibilityFaults } from '../accessibility.ts'
import { openBrowser } from '../browser.ts'
import { checksum, checksums, duskwork, scratchFolder } from '../program.ts'
import { type Served, serveProcess } from '../serve-process.ts'

const { folder, remove } = scratchFolder('page')
const home = join(folder, 'home')
const made = join(folder, 'made')
const card = join(made, 'originals')
const JOB = { timeout: 100_000 }
/** Screenshots for the eye are kept where this names a folder. */
const shots = process.env['DUSKWORK_SHOTS']

let browser: Browser
let served: Served
beforeAll(async () => {
  mkdirSync(home)
  const { code } = await duskwork(['demo', made, '--scale', '0.25'])
  expect(code).toBe(0)
  served = await serveProcess(['--home', home, '--card', card])
  browser = await openBrowser()
})
afterAll(async () => {
  await browser?.close()
  expect(await served?.stop()).toBe(0)
  remove()
})

/** A page that reports what goes wrong in it, and every request that leaves for elsewhere. */
async function openPage(width = 1440): Promise<{ page: Page; problems: string[] }> {
  const page = await browser.newPage({ viewport: { width, height: 900 } })
  const problems: string[] = []
  const { origin } = new URL(served.address)
  page.on('pageerror', (error) => problems.push(`error: ${error.message}`))
  page.on('console', (message) => {
    if (message.type() === 'error') problems.push(`console: ${message.text()}`)
  })
  page.on('response', (response) => {
    if (response.status() >= 400) problems.push(`${response.status()} ${new URL(response.url()).pathname}`)
  })
  page.on('request', (request) => {
    if (!request.url().startsWith(`${origin}/`) && !/^(data|blob):/.test(request.url()))
      problems.push(`left for ${request.url()}`)
  })
  return { page, problems }
}

const answer = (page: Page, text: RegExp, options = {}) =>
  page.locator('.answer', { hasText: text }).waitFor({ timeout: 30_000, ...options })

async function shot(page: Page, name: string): Promise<void> {
  if (shots) await page.screenshot({ path: join(shots, `${name}.png`) })
}

describe('the whole night by hand', () => {
  it('goes from an empty folder to a written file and a printed field card, asking nothing of anybody else', async () => {
    const { page, problems } = await openPage()
    await page.goto(served.address)
    await answer(page, /with your own card/i)
    await shot(page, 'night-1-first')
    await page.getByRole('button', { name: 'Make it small and quick' }).click()
    await page.getByRole('progressbar').waitFor()
    await answer(page, /3 brackets/, JOB)
    await page.getByRole('progressbar').waitFor({ state: 'detached', ...JOB })
    expect(readdirSync(home)).toEqual(['demo-outing'])

    await page.getByRole('link', { name: /^Light/ }).click()
    await answer(page, /Sky and floodlit walls meet at 17:41/)
    await page.getByRole('slider', { name: 'The minute of the evening' }).focus()
    for (let i = 0; i < 5; i++) await page.keyboard.press('ArrowLeft')
    expect(new URL(page.url()).searchParams.get('at')).toBe('17:36')
    await page.reload()
    await page.getByRole('heading', { name: 'At 17:36' }).waitFor()
    await page.getByRole('button', { name: 'The evening after' }).click()
    await answer(page, /17:43/)
    await page.getByRole('button', { name: /Take this evening/ }).click()
    await page.getByRole('button', { name: 'Undo the evening' }).waitFor()
    const outing = join(home, 'demo-outing')
    const stated = () => outingSchema.parse(JSON.parse(readFileSync(join(outing, 'outing.json'), 'utf8')))
    expect(stated().date).toBe('2027-02-10')
    await page.getByRole('button', { name: 'Undo the evening' }).click()
    await answer(page, /17:41/)
    expect(stated().date).toBe('2027-02-09')
    await shot(page, 'night-2-light')

    await page.getByRole('button', { name: /Check the flight/ }).click()
    await answer(page, /Return height 51 m/)
    await page.getByLabel('wind at 10 m').fill('6')
    await page.getByLabel('wind at 10 m').press('Enter')
    await page.getByRole('button', { name: 'Undo the wind' }).waitFor()
    expect(stated().weather.windMetresPerSecond).toBe(6)
    await page.frameLocator('iframe').getByText('return height', { exact: true }).waitFor()
    await page.getByText('on paper').click()
    await page.frameLocator('iframe').getByText('return height', { exact: true }).waitFor()
    await shot(page, 'night-3-flight')
    const paper = await browser.newPage()
    await paper.goto(
      (await page
        .getByRole('link', { name: 'Open to print' })
        .getAttribute('href')
        .then((h) => new URL(h!, served.address).href))!,
    )
    const pdf = await paper.pdf({ format: 'A4' })
    expect(pdf.length).toBeGreaterThan(5000)
    expect(pdf.toString('latin1').match(/\/Type\s*\/Page\b/g)).toHaveLength(1)
    await paper.close()

    await page.getByRole('button', { name: /See what to set/ }).click()
    await answer(page, /f\/1\.8, ISO \d+/)
    await page.getByText('over the river').first().click()
    await page.getByRole('button', { name: 'A minute later' }).click()
    await page.getByRole('heading', { name: /over the river/ }).waitFor()
    await shot(page, 'night-4-exposure')

    await page.getByRole('button', { name: /Bring the card/ }).click()
    await answer(page, /3 brackets/)
    await page.getByRole('button', { name: /^DUSK_0005/ }).click()
    const viewer = page.getByRole('application', { name: /Frame DUSK_0005/ })
    await viewer.waitFor()
    await viewer.focus()
    await page.keyboard.press('1')
    await page.getByText('100 %', { exact: true }).first().waitFor()
    await page.waitForURL(/[?&]look=/)
    const looked = page.url()
    await shot(page, 'night-5-frames')

    await page.getByRole('link', { name: /^Merge/ }).click()
    await answer(page, /7 of 7 frames/)
    await page.getByText('beside the best single frame').click()
    await page.getByRole('application', { name: /Single frame/ }).waitFor()
    await page.getByText('how the frames moved').click()
    await shot(page, 'night-6-merge')

    await page.getByRole('button', { name: /Choose the look/ }).click()
    await page.locator('canvas[data-ready="true"]').waitFor()
    const grip = page.getByRole('slider', { name: 'ground: print zone' })
    const before = Number(await grip.getAttribute('aria-valuenow'))
    await grip.focus()
    for (let i = 0; i < 4; i++) await page.keyboard.press('ArrowUp')
    await page.getByRole('button', { name: 'Undo the look of 0001' }).waitFor()
    expect(Number(await grip.getAttribute('aria-valuenow'))).toBeCloseTo(before + 0.4, 1)
    await page.getByText('TIFF, 16 bits').first().click()
    await page.getByRole('button', { name: /Write the files/ }).click()
    await page.getByText('read back by another decoder, and right').nth(1).waitFor(JOB)
    await shot(page, 'night-7-print')
    const { looks } = looksSchema.parse(JSON.parse(readFileSync(join(outing, 'looks.json'), 'utf8')))
    for (const name of ['0001.jpg', '0001.tif']) {
      const record = printRecordSchema.parse(
        JSON.parse(readFileSync(join(outing, 'prints', `${name}.record.json`), 'utf8')),
      )
      expect(record.settings.look).toEqual(looks['0001'])
      expect(record.print.sha256).toBe(checksum(join(outing, 'prints', name)))
    }

    // A link leads back to the same frame and zoom.
    await page.goto(looked)
    await page.getByText('100 %', { exact: true }).first().waitFor()
    expect(problems).toEqual([])
    await page.close()
  })

  it('has no fault that axe finds, on any screen, dark, light and red, wide, middle and narrow', async () => {
    const { page, problems } = await openPage()
    let looked = 0
    for (const [form, width] of [
      ['dark', 1440],
      ['light', 1024],
      ['red', 390],
    ] as const) {
      await page.setViewportSize({ width, height: 844 })
      await page.goto(`${served.address}?with=card`)
      await page.getByLabel('The page is lit').selectOption(form)
      const screens = [
        'light',
        'flight',
        'exposure',
        'frames',
        'frames?frame=originals%2FDUSK_0005.DNG',
        'merge',
        'print',
        'print?view=close',
      ]
      for (const screen of ['', ...screens]) {
        if (screen !== '') await page.goto(`${served.address}o/demo-outing/${screen}`)
        await page.locator('.answer').waitFor()
        await page.locator('.waiting').first().waitFor({ state: 'detached' })
        expect([form, screen, await accessibilityFaults(page)]).toEqual([form, screen, []])
        // Nothing is wider than the window: no screen scrolls sideways.
        const over = await page.evaluate('document.documentElement.scrollWidth - window.innerWidth')
        expect([form, screen, over]).toEqual([form, screen, 0])
        await shot(page, `${form}-${width}-${screen.replace(/\W+/g, '-') || 'first'}`)
        looked++
      }
    }
    console.log(`${looked} screens without a fault`)
    expect(problems.filter((p) => !p.includes('frame-ancestors'))).toEqual([])
    await page.close()
  })
})

/** Presses Tab until what has the focus is called so, as somebody without a mouse would. */
async function tabTo(page: Page, name: RegExp): Promise<void> {
  for (let i = 0; i < 120; i++) {
    await page.keyboard.press('Tab')
    const found = await page.evaluate(
      "document.activeElement.getAttribute('aria-label') ?? document.activeElement.textContent",
    )
    if (name.test(String(found))) return
  }
  throw new Error(`Tab does not lead to ${name}`)
}

describe('without a mouse, from “use my card” to a print', () => {
  it('takes under ten actions', async () => {
    const { page, problems } = await openPage()
    let actions = 0
    const press = async (name: RegExp) => {
      await page.getByRole('button', { name }).and(page.locator(':enabled')).waitFor(JOB)
      await tabTo(page, name)
      await page.keyboard.press('Enter')
      actions++
    }
    await page.goto(served.address)
    await answer(page, /outing here/)
    await press(/^Use my card/)
    await press(/^Copy this card/)
    await answer(page, /3 brackets: \d to keep/, JOB)
    await press(/^Merge/)
    await press(/^Choose the look/)
    await page.locator('canvas[data-ready="true"]').waitFor(JOB)
    await press(/^Write the files/)
    await page.getByText('read back by another decoder, and right').waitFor(JOB)
    console.log(`from “use my card” to a proven print: ${actions} actions`)
    expect(actions).toBeLessThan(10)
    const outing = readdirSync(home).find((name) => name.endsWith('card'))!
    expect(existsSync(join(home, outing, 'prints', '0001.jpg'))).toBe(true)
    const { safeToWipe } = copyManifestSchema.parse(JSON.parse(readFileSync(join(home, outing, 'copy.json'), 'utf8')))
    expect(safeToWipe).toBe(true)
    expect(problems).toEqual([])
    await page.close()
  })

  it('regroups by keyboard and takes it back', async () => {
    const { page } = await openPage()
    await page.goto(`${served.address}o/demo-outing/frames`)
    await answer(page, /3 brackets/)
    await tabTo(page, /^DUSK_0005/)
    await page.keyboard.press('s')
    await answer(page, /4 brackets/)
    await tabTo(page, /^DUSK_0002/)
    await page.keyboard.press('j')
    await answer(page, /3 brackets/)
    await page.keyboard.press('Control+z')
    await answer(page, /4 brackets/)
    await page.keyboard.press('Control+z')
    await answer(page, /3 brackets/)
    expect(existsSync(join(home, 'demo-outing', 'corrections.json'))).toBe(false)
    await page.close()
  })

  it('regroups by drag', async () => {
    const { page } = await openPage()
    await page.goto(`${served.address}o/demo-outing/frames`)
    await answer(page, /3 brackets/)
    await page.locator('[data-bracket="0002"] h2').dragTo(page.locator('[data-bracket="0003"]'))
    await answer(page, /2 brackets/)
    await page.keyboard.press('Control+z')
    await answer(page, /3 brackets/)
    await page.close()
  })
})

it('two tabs show each other’s changes', async () => {
  const [one, two] = [(await openPage()).page, (await openPage()).page]
  for (const page of [one, two]) await page.goto(`${served.address}o/demo-outing/flight`)
  await one.getByLabel('reserve').first().fill('31')
  await one.getByLabel('reserve').first().press('Enter')
  await two.getByText('31 %').first().waitFor()
  await one.close()
  await two.close()
})

it('a server killed in the midst of a merge loses nothing, and offers to go on', async () => {
  const own = join(folder, 'killed')
  mkdirSync(own)
  const first = await serveProcess(['--home', own, '--card', card])
  const started = await fetch(`${first.address}api/jobs`, {
    method: 'POST',
    headers: { 'content-type': 'application/json' },
    body: JSON.stringify({ job: 'card', card, title: 'weir' }),
  })
  expect(started.status).toBe(202)
  const outing = join(own, 'weir')
  const state = async () =>
    (await (await fetch(`${first.address}api/state`)).json()) as { jobs: { job: string; state: string }[] }
  while ((await state()).jobs.some((j) => j.state !== 'done')) await new Promise((resolve) => setTimeout(resolve, 50))
  const originals = checksums(join(outing, 'originals'))
  await fetch(`${first.address}api/o/weir/jobs`, {
    method: 'POST',
    headers: { 'content-type': 'application/json' },
    body: JSON.stringify({ job: 'merge' }),
  })
  while (!existsSync(join(outing, 'brackets', '0001', 'record.json')))
    await new Promise((resolve) => setTimeout(resolve, 2))
  await first.kill()
  const whole = readdirSync(join(outing, 'brackets')).filter((id) =>
    existsSync(join(outing, 'brackets', id, 'record.json')),
  )
  expect(whole.length).toBeLessThan(3)
  const kept = Object.fromEntries(whole.map((id) => [id, checksum(join(outing, 'brackets', id, 'radiance.exr'))]))

  const again = await serveProcess([outing])
  const page = await browser.newPage()
  await page.goto(`${again.address}o/weir/frames`)
  await page.getByText(/ended while it was merging/).waitFor()
  await page.getByRole('button', { name: 'Go on', exact: true }).click()
  await page.getByRole('button', { name: /Look at the merges/ }).waitFor(JOB)
  expect(checksums(join(outing, 'originals'))).toEqual(originals)
  for (const [id, sum] of Object.entries(kept)) expect(checksum(join(outing, 'brackets', id, 'radiance.exr'))).toBe(sum)
  const left = readdirSync(outing, { recursive: true, encoding: 'utf8' }).filter((name) => name.endsWith('.part'))
  expect(left).toEqual([])
  expect(existsSync(join(outing, 'work.json'))).toBe(false)
  await page.close()
  await again.stop()
})
