import { copyFileSync, existsSync, mkdirSync, readFileSync, statSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { afterAll, describe, expect, it } from 'vitest'
import { demoSchema, lightSchema, outingSchema, planSchema } from '#jobs/schemas'
import { accessibilityFaults } from '../accessibility.ts'
import { openBrowser } from '../browser.ts'
import { samples } from '../kernels.ts'
import { complaints, duskwork, filesIn, scratchFolder } from '../program.ts'

const { folder, remove } = scratchFolder('evening')
afterAll(remove)

const jsonOf = async (...args: string[]) => {
  const { code, out, err } = await duskwork([...args, '--json'])
  return { code, err, document: JSON.parse(out) as Record<string, unknown> }
}

describe('duskwork light', () => {
  it('prints one document of its schema with every field that scripts were promised', async () => {
    const { code, document } = await jsonOf('light', '--at', '50.1,14.4', '--on', '2027-02-09')
    expect(code).toBe(0)
    const light = lightSchema.parse(document)
    expect(light.place).toEqual({ latitude: 50.1, longitude: 14.4, timeZone: 'Europe/Prague' })
    expect(light.events.map((e) => e.name)).toEqual(
      'sunset civil-dusk civil-dusk-30min nautical-dusk astronomical-dusk astronomical-dawn nautical-dawn civil-dawn sunrise moonrise moonset'.split(
        ' ',
      ),
    )
    expect(light.events[0]!.local).toMatch(/^2027-02-09T17:09:\d\d\+01:00$/)
    for (const m of light.minutes) expect(Math.abs(Math.log2(m.lux / 2.5) - m.ev100)).toBeLessThan(0.01)
    expect(light.balance.find((b) => b.subject === 'floodlit')!.local).toMatch(/^2027-02-09T17:4/)
  })

  it('reads an outing and a site file, and writes a page', async () => {
    const site = join(folder, 'site.json')
    writeFileSync(site, JSON.stringify({ schema: 'site/1', name: 'weir', latitude: 60.17, longitude: 24.94 }))
    const page = join(folder, 'light.html')
    const { code, document } = await jsonOf('light', site, '--on', '2026-06-21', '--page', page)
    expect(code).toBe(0)
    const light = lightSchema.parse(document)
    expect(light.events.find((e) => e.name === 'nautical-dusk')).toMatchObject({ utc: null, never: 'sun-stays-above' })
    expect(readFileSync(page, 'utf8')).toContain('<svg')
  })

  it.each([
    [['--at', '95,14', '--on', '2027-02-09'], /latitude 95 is not on earth/],
    [['--at', '50,14', '--on', '2027-02-30'], /“2027-02-30” is no date/],
    [['--at', '50,14', '--on', '2200-01-01'], /1900 to 2100/],
    [['--at', '50,14', '--on', '2027-02-09', '--zone', 'Weir/Town'], /time zone “Weir\/Town” is not known/],
    [['--on', '2027-02-09'], /no place is given/i],
    [['--at', '50,14'], /no evening is given/i],
    [['--at', 'here', '--on', '2027-02-09'], /latitude,longitude/],
    [['--at', '50,14', '--on', '2027-02-09', '--height', '-3'], /outside 0 to 10,000/],
  ])('refuses %j with exit code 2 and one line', async (args, sentence) => {
    const { code, out, err } = await duskwork(['light', ...args])
    expect(code).toBe(2)
    expect(out).toBe('')
    expect(err).toMatch(sentence)
    expect(complaints(err)).toHaveLength(1)
  })
})

describe('duskwork plan', () => {
  const outing = join(folder, 'demo')

  it('plans the demonstration’s evening; its card is one sheet, asks for nothing, and reads well on a phone', async () => {
    const demo = await jsonOf('demo', outing, '--scale', '0.1')
    expect(demo.code).toBe(0)
    const { card } = demoSchema.parse(demo.document)
    const { code, document } = await jsonOf('plan', outing)
    expect(code).toBe(0)
    const plan = planSchema.parse(document)
    expect(plan.card).toBe(card)
    expect(planSchema.parse(JSON.parse(readFileSync(join(outing, 'plan.json'), 'utf8')))).toEqual(plan)
    expect(statSync(card).size).toBeLessThan(200_000)

    const browser = await openBrowser()
    try {
      const page = await browser.newPage({ viewport: { width: 390, height: 844 } })
      const requests: string[] = []
      page.on('request', (r) => requests.push(r.url()))
      await page.goto(`file://${card}`)
      expect(requests).toEqual([`file://${card}`])
      expect(await accessibilityFaults(page)).toEqual([])
      expect(await page.evaluate('document.documentElement.scrollWidth')).toBeLessThanOrEqual(390)
      for (const format of ['A4', 'Letter'] as const) {
        const pdf = (await page.pdf({ format })).toString('latin1')
        expect(pdf.match(/\/Type\s*\/Page\b(?!s)/g), format).toHaveLength(1)
      }
      await page.setViewportSize({ width: 1280, height: 900 })
      await page.goto(`file://${join(outing, 'evening.html')}`)
      expect(await accessibilityFaults(page)).toEqual([])
    } finally {
      await browser.close()
    }
  })

  it('begins an outing, and never writes over one', async () => {
    const begun = join(folder, 'begun')
    const first = await duskwork(['plan', begun, '--at', '50.1,14.4', '--on', '2027-02-09'])
    // No viewpoints yet: done, but it says so.
    expect(first.code).toBe(1)
    expect(first.out).toMatch(/--recon/)
    outingSchema.parse(JSON.parse(readFileSync(join(begun, 'outing.json'), 'utf8')))
    const again = await duskwork(['plan', begun, '--at', '50.1,14.4', '--on', '2027-02-09'])
    expect(again.code).toBe(2)
    expect(again.err).toMatch(/there is an outing already/i)
  })

  it.each([
    ['not a document', 'nothing', /it is not JSON/],
    ['another document', '{"schema":"plan/1"}', /outing\/1 is wanted/],
    ['a later version', '{"schema":"outing/7"}', /newer version/],
    [
      'a field that is none',
      '{"schema":"outing/1","title":"t","date":"2027-02-09","site":{"name":"n","latitude":"north","longitude":1}}',
      /site\.latitude/,
    ],
    [
      'no place',
      '{"schema":"outing/1","title":"t","date":"2027-02-09","site":{"name":"n","latitude":null,"longitude":null}}',
      /site\.latitude and site\.longitude/,
    ],
  ])('refuses %s by name', async (name, text, sentence) => {
    const place = join(folder, name)
    mkdirSync(place)
    writeFileSync(join(place, 'outing.json'), text)
    const { code, err } = await duskwork(['plan', place])
    expect([2, 3]).toContain(code)
    expect(err).toMatch(sentence)
    expect(complaints(err)).toHaveLength(1)
    expect(filesIn(place)).toEqual(['outing.json'])
  })

  it('refuses a folder without outing.json', async () => {
    const { code, err } = await duskwork(['plan', join(folder, 'nowhere')])
    expect(code).toBe(3)
    expect(complaints(err)).toHaveLength(1)
  })

  const stills = join(samples, 'drone-stills')
  it.skipIf(!existsSync(stills))(
    'takes viewpoints from photographs that say where they were taken (needs sample files)',
    async () => {
      const recon = join(folder, 'recon')
      mkdirSync(recon)
      for (const name of ['nadir_0024.jpg', 'nadir_0025.jpg']) copyFileSync(join(stills, name), join(recon, name))
      const begun = join(folder, 'with recon')
      await duskwork(['plan', begun, '--at', '50.1,14.4', '--on', '2027-02-09'])
      const { out } = await duskwork(['plan', begun, '--recon', recon])
      expect(existsSync(join(begun, 'field-card.html'))).toBe(true)
      expect(out).toMatch(/From the recon flight: \d viewpoints?, 0 obstacles/)
      outingSchema.parse(JSON.parse(readFileSync(join(begun, 'outing.json'), 'utf8')))
    },
  )
})
