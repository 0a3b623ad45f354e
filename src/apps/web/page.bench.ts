// The page in a real browser on the demonstration: milliseconds to the first answer, from a rung's move to the new picture
// (2000 × 1500 pixels), and between frames while 500 frames scroll. Wall time, so other work on the machine counts.
import { mkdirSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import process from 'node:process'
import type { Page } from 'playwright-core'
import { createCodec } from '#apps/io'
import { srgbProfile } from '#core/formats'
import { exifBlock, noFacts } from '#picture/export'
import { openBrowser } from '../../../test/browser.ts'
import { duskwork, scratchFolder } from '../../../test/program.ts'
import { serveProcess } from '../../../test/serve-process.ts'

const { folder, remove } = scratchFolder('page-bench')
const given = process.env['DUSKWORK_BENCH_OUTING']
const outing = given ?? join(folder, 'demo')
if (!given) await duskwork(['demo', outing])

/** A hundred brackets of five camera JPEGs, a stop apart, half a minute between brackets. */
const many = join(folder, 'many')
mkdirSync(join(many, 'originals'), { recursive: true })
const codec = createCodec()
const [width, height] = [960, 720]
const data = Uint8Array.from({ length: 3 * width * height }, (_, i) => (i * 7 + (i >> 9)) & 255)
for (let i = 0; i < 500; i++) {
  const seconds = 30 * Math.floor(i / 5) + 2 * (i % 5)
  const facts = {
    ...noFacts,
    exposureSeconds: 2 ** ((i % 5) - 6),
    fNumber: 1.8,
    iso: 100,
    takenAtCamera: new Date(Date.UTC(2027, 1, 9, 17, 0, seconds)).toISOString().slice(0, 19),
  }
  const { bytes: exif } = exifBlock(facts, { width, height, software: 'bench' })
  const jpeg = await codec.encodeJpeg({ width, height, channels: 3, data }, 70, { exif, icc: srgbProfile() })
  writeFileSync(join(many, 'originals', `MANY_${String(i).padStart(4, '0')}.JPG`), jpeg)
}

const at = (values: readonly number[], share: number) =>
  [...values].sort((a, b) => a - b)[Math.min(values.length - 1, Math.floor(share * values.length))]!
const say = (what: string, values: readonly number[]) =>
  console.log(
    `${what.padEnd(44)} median ${at(values, 0.5).toFixed(0)} ms, p95 ${at(values, 0.95).toFixed(0)} ms, of ${values.length}`,
  )

const id = (path: string) => path.split('/').at(-1)!
const served = await serveProcess([outing])
const servedMany = await serveProcess([many])
const browser = await openBrowser()
try {
  for (const [what, path] of [
    ['to the first screen', ''],
    ['to the answer about the light', `o/${id(outing)}/light`],
    ['to the brackets', `o/${id(outing)}/frames`],
  ] as const) {
    const took: number[] = []
    for (let i = 0; i < 7; i++) {
      const page = await browser.newPage()
      await page.goto(served.address + path)
      await page.locator('.answer').waitFor()
      took.push(Number(await page.evaluate('performance.now()')))
      await page.close()
    }
    say(what, took)
  }
  const page = await browser.newPage({ viewport: { width: 1440, height: 900 } })
  await page.goto(`${served.address}o/${id(outing)}/print`)
  await page.locator('canvas[data-ready="true"]').waitFor()
  const grip = page.getByRole('slider', { name: 'ground: print zone' })
  await grip.focus()
  await measures(page)
  for (let i = 0; i < 60; i++) {
    const seen = i + 1
    await page.keyboard.press(i % 6 < 3 ? 'ArrowUp' : 'ArrowDown')
    while (Number(await page.evaluate("performance.getEntriesByName('rung-to-picture').length")) < seen)
      await page.waitForTimeout(5)
  }
  say('from a rung’s move to the new picture', await measures(page))
  const box = (await grip.boundingBox())!
  await page.mouse.move(box.x + box.width / 2, box.y + box.height / 2)
  await page.mouse.down()
  for (let i = 0; i < 120; i++) {
    await page.mouse.move(box.x + box.width / 2, box.y + 40 * Math.sin(i / 12))
    await page.waitForTimeout(16)
  }
  await page.mouse.up()
  await page.waitForTimeout(500)
  say('the same, while the hand keeps moving', await measures(page))
  await page.close()

  const frames = await browser.newPage({ viewport: { width: 1440, height: 900 } })
  await frames.goto(`${servedMany.address}o/many/frames`)
  await frames.locator('.frame').nth(400).waitFor({ state: 'attached' })
  await frames.waitForTimeout(6000)
  await frames.evaluate(
    'globalThis.gaps = []; (function next(last) { requestAnimationFrame((now) => { if (last) gaps.push(now - last); next(now) }) })(0)',
  )
  await frames.mouse.move(700, 500)
  for (let i = 0; i < 180; i++) {
    await frames.mouse.wheel(0, 90)
    await frames.waitForTimeout(16)
  }
  say('between frames while 500 scroll', (await frames.evaluate('gaps')) as number[])
} finally {
  await browser.close()
  await served.stop()
  await servedMany.stop()
  remove()
}

/** How long pictures took since this was last asked. */
async function measures(page: Page): Promise<number[]> {
  const found = await page.evaluate("performance.getEntriesByName('rung-to-picture').map((e) => e.duration)")
  await page.evaluate("performance.clearMeasures('rung-to-picture')")
  return found as number[]
}
