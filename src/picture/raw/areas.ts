import { type LeftOut, malformed } from '#core/base'
import type { TagReader } from '#core/formats'
import type { Region } from '#core/pixels'

export interface Areas {
  readonly activeArea: Region
  readonly maskedAreas: readonly Region[]
  readonly crop: Region
}

interface Size {
  readonly width: number
  readonly height: number
}

const MAX_MASKED = 64

/** Top, left, bottom, right (exclusive) as a region cut to the picture; null when nothing is left. */
function cutRectangle([top, left, bottom, right]: readonly number[], { width, height }: Size): Region | null {
  const x = Math.max(0, left!)
  const y = Math.max(0, top!)
  const region = { x, y, width: Math.min(right!, width) - x, height: Math.min(bottom!, height) - y }
  return region.width > 0 && region.height > 0 ? region : null
}

function activeArea(tags: TagReader, size: Size, leftOut: LeftOut[]): Region {
  const found = tags.mustNumbers(50829)
  if (found === null) return { x: 0, y: 0, width: size.width, height: size.height }
  const region = found.length < 4 ? null : cutRectangle(found, size)
  if (region === null) throw malformed('active-area', { tag: 50829, found: found.slice(0, 4) })
  if (region.width !== found[3]! - found[1]! || region.height !== found[2]! - found[0]!) {
    leftOut.push({ what: 'active area', reason: 'cut-to-picture', facts: { tag: 50829, found: found.slice(0, 4) } })
  }
  return region
}

function maskedAreas(tags: TagReader, size: Size): Region[] {
  const found = tags.numbers(50830) ?? []
  const areas: Region[] = []
  for (let i = 0; i + 4 <= found.length && areas.length < MAX_MASKED; i += 4) {
    const region = cutRectangle(found.slice(i, i + 4), size)
    if (region !== null) areas.push(region)
  }
  return areas
}

/**
 * DefaultCropOrigin and DefaultCropSize: horizontal, vertical; relative to the active area; possibly fractions, taken to
 * the nearest pixel. The default size is the whole picture (DNG 1.6 chapter 4), so it is always cut to the active area.
 */
function defaultCrop(tags: TagReader, active: Region, leftOut: LeftOut[]): Region {
  const whole = { x: 0, y: 0, width: active.width, height: active.height }
  const origin = tags.numbers(50719) ?? [0, 0]
  const size = tags.numbers(50720) ?? [active.width, active.height]
  const [x, y, width, height] = [origin[0], origin[1], size[0], size[1]].map((v) => Math.round(v ?? Number.NaN)) as [
    number,
    number,
    number,
    number,
  ]
  const region = {
    x: Math.max(0, x),
    y: Math.max(0, y),
    width: Math.min(width, active.width - Math.max(0, x)),
    height: Math.min(height, active.height - Math.max(0, y)),
  }
  // NaN fails every comparison and ends here too.
  if (region.width > 0 && region.height > 0 && region.x >= 0 && region.y >= 0) return region
  leftOut.push({
    what: 'default crop',
    reason: 'crop-outside-active-area',
    facts: { tag: 50719, found: [origin[0], origin[1], size[0], size[1]].map((v) => String(v)) },
  })
  return whole
}

/** Active area, masked areas and default crop of a picture of the given size. @throws malformed "active-area" */
export function areasOf(tags: TagReader, size: Size, leftOut: LeftOut[]): Areas {
  const active = activeArea(tags, size, leftOut)
  return { activeArea: active, maskedAreas: maskedAreas(tags, size), crop: defaultCrop(tags, active, leftOut) }
}
