import type { Host, PlanDocument } from '#jobs/contract'
import { renderEveningPage } from './evening-page.ts'
import { renderFieldCard } from './field-card.ts'

/** Draws a plan: the field card where the document says it is, and the evening's page beside it. Returns the page's path. */
export async function writeEveningPages(host: Host, folder: string, document: PlanDocument): Promise<string> {
  const page = host.files.join(folder, 'evening.html')
  await host.files.write(document.card, renderFieldCard(document))
  await host.files.write(page, renderEveningPage(document, host.files.baseName(document.card)))
  return page
}
