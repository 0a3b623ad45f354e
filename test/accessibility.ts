import { readFileSync } from 'node:fs'
import { createRequire } from 'node:module'
import type { Page } from 'playwright-core'

const axe = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8')

interface Violation {
  readonly id: string
  readonly help: string
  readonly nodes: readonly { readonly target: readonly string[]; readonly failureSummary?: string }[]
}

/** Breaches of WCAG 2.0 to 2.2, levels A and AA, that axe-core finds in the page as it stands; one line each. */
export async function accessibilityFaults(page: Page): Promise<string[]> {
  // The page's own policy forbids scripts; evaluate is not bound by it.
  await page.evaluate(axe)
  const found = await page.evaluate(async () => {
    const run = (globalThis as unknown as { axe: { run(options: object): Promise<{ violations: unknown }> } }).axe.run
    const tags = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice']
    return (await run({ runOnly: { type: 'tag', values: tags } })).violations
  })
  return (found as Violation[]).flatMap((v) =>
    v.nodes.map((n) => `${v.id}: ${v.help} at ${n.target.join(' ')} ${n.failureSummary ?? ''}`.trim()),
  )
}
