import type { Host, PlanDocument } from './contract/index.ts'
import { mayReplace } from './documents.ts'
import { readOutingDocument } from './outing-document.ts'
import { planEvening } from './plan-evening.ts'

/**
 * Plans the evening that an outing's outing.json describes and writes plan.json beside it. The pages are the caller's to
 * draw; the field card's path is in the document.
 * @throws Failure io, malformed, unsupported (outing.json), usage (what it states cannot be planned)
 */
export async function plan(host: Host, folder: string): Promise<PlanDocument> {
  const { files } = host
  const outing = await readOutingDocument(files, folder)
  const document = planEvening(outing, { outing: folder, card: files.join(folder, 'field-card.html') })
  const path = files.join(folder, 'plan.json')
  await mayReplace(files, path, 'plan/1')
  await files.write(path, `${JSON.stringify(document, null, 2)}\n`)
  return document
}
