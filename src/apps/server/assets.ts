import { readdir, readFile } from 'node:fs/promises'
import { join } from 'node:path'
import { brotliCompressSync, constants } from 'node:zlib'

export interface Asset {
  readonly bytes: Uint8Array
  readonly packed: Uint8Array
  readonly type: string
}

const types: Readonly<Record<string, string>> = {
  js: 'text/javascript; charset=utf-8',
  css: 'text/css; charset=utf-8',
  html: 'text/html; charset=utf-8',
  svg: 'image/svg+xml',
}

/** The built page, held in memory by name: an address can only mean one of these, whatever is written in it. */
export async function loadAssets(folder: string): Promise<ReadonlyMap<string, Asset>> {
  const assets = new Map<string, Asset>()
  for (const name of await readdir(folder)) {
    const type = types[name.split('.').at(-1)!]
    if (!type) continue
    const bytes = await readFile(join(folder, name))
    const packed = brotliCompressSync(bytes, { params: { [constants.BROTLI_PARAM_QUALITY]: 5 } })
    assets.set(name, { bytes, packed, type })
  }
  return assets
}
