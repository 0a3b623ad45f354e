import { Failure } from '#core/base'
import { cameraToLinearSrgb, encodeSrgb, neutralGainsOnly } from '#core/colour'
import type { Crew } from '#core/kernels'
import { cfaAt, orientedSize } from '#core/pixels'
import type { Frame } from '#picture/card'
import { chooseLook, measureScene, printBytes, renderPrint8 } from '#picture/finish'
import { decodeMany, type RawFile } from '#picture/raw'
import type { Host, Pixels8 } from './contract/index.ts'
import { candelaPerUnit, planesIn } from './radiance-files.ts'
import { mergeRawBracket } from './radiance-raw.ts'
import { seeFile } from './see-file.ts'
import { uprightPixels } from './upright-pixels.ts'

type WithCrew = (bytes: number) => Promise<Crew>

/**
 * One frame as a finished picture of its full size, for looking at: a raw file through the same steps as a merge of one, a
 * camera's JPEG as it is. @throws Failure for whatever cannot be read
 */
export async function framePicture(host: Host, withCrew: WithCrew, path: string): Promise<Pixels8> {
  const { description } = await seeFile(host.files, path)
  if (description instanceof Failure) throw description.with({ path })
  if (description.kind !== 'dng')
    return uprightPixels(inColour(await host.codec.decode(await host.files.read(path))), description.orientation)
  const frame: Frame = {
    file: path,
    companion: null,
    source: 'raw',
    width: description.width,
    height: description.height,
    facts: description,
  }
  const printRoom = printBytes(description.width, description.height, 8)
  const image = await mergeRawBracket(host, (bytes) => withCrew(bytes + printRoom), [frame], frame)
  const planes = planesIn(image)
  const { crew, width, height } = image
  const scene = await measureScene(crew, planes)
  const settings = chooseLook(scene, { candelaPerSquareMetrePerUnit: candelaPerUnit(image) })
  const out = crew.arena.alloc(width * height * 3)
  await renderPrint8(crew, planes, scene, settings, out)
  return { width, height, channels: 3, data: Uint8Array.from(crew.arena.u8(out, width * height * 3)) }
}

function inColour(pixels: Pixels8): Pixels8 {
  if (pixels.channels === 3) return pixels
  const data = new Uint8Array(pixels.data.length * 3)
  for (const [i, v] of pixels.data.entries()) data.fill(v, i * 3, i * 3 + 3)
  return { ...pixels, channels: 3, data }
}

/**
 * One frame small, as bright as it was exposed: blocks of a raw mosaic averaged by colour, white balance, sRGB. Half a tenth
 * of the time that a whole picture takes. @throws Failure for whatever cannot be read
 */
export async function frameThumbnail(host: Host, withCrew: WithCrew, path: string, longSide: number): Promise<Pixels8> {
  const { description } = await seeFile(host.files, path)
  if (description instanceof Failure) throw description.with({ path })
  const raw = description.kind === 'dng' ? description : null
  if (!raw?.cfa) return host.codec.reduce(await framePicture(host, withCrew, path), longSide)
  const bytes = await host.files.size(path)
  const crew = await withCrew(bytes + raw.width * raw.height * 2 + (1 << 20))
  const { arena } = crew
  const fileAt = arena.alloc(bytes)
  await host.files.readInto(path, arena.u8(fileAt, bytes))
  const destination = arena.alloc(raw.width * raw.height * 2)
  await decodeMany(crew, [{ raw, fileAt, fileBytes: bytes, destination }])
  return uprightPixels(blocksOf(arena.u16(destination, raw.width * raw.height), raw, longSide), raw.orientation)
}

/** Camera makers brighten; a gain of two with a soft shoulder stands for that (as in picture/simulate/preview.ts). */
const shown = (linear: number) => Math.round(255 * encodeSrgb(1 - Math.exp(-2 * Math.max(linear, 0))))

function blocksOf(samples: Uint16Array, raw: RawFile, longSide: number): Pixels8 {
  const { crop, activeArea, black } = raw
  const block = 2 * Math.max(1, Math.round(Math.max(crop.width, crop.height) / longSide / 2))
  const [width, height] = [Math.max(1, Math.floor(crop.width / block)), Math.max(1, Math.floor(crop.height / block))]
  const matrix = cameraToLinearSrgb(raw.colour)?.cameraToLinearSrgb ?? neutralGainsOnly(raw.colour)
  const white = raw.white[0]!
  // From the active area's corner; an even start keeps the colours of the pattern in place.
  const left = activeArea.x + (crop.x & ~1)
  const top = activeArea.y + (crop.y & ~1)
  const data = new Uint8Array(width * height * 3)
  const sums = new Float64Array(width * 3)
  const counts = new Float64Array(width * 3)
  // Every other pair of rows and columns of a block: a small picture needs no more.
  const step = block >= 8 ? 4 : 2
  for (let y = 0; y < height; y++) {
    sums.fill(0)
    counts.fill(0)
    for (let j = y * block; j + 1 < (y + 1) * block; j += step)
      for (const row of [j, j + 1])
        for (let i = 0; i + 1 < width * block; i += step)
          for (const column of [i, i + 1]) {
            const stored = samples[(top + row) * raw.width + left + column]!
            const value = raw.linearisation?.[Math.min(stored, raw.linearisation.length - 1)] ?? stored
            const level =
              black.values[(row % black.repeatRows) * black.repeatColumns + (column % black.repeatColumns)] ??
              black.values[0]!
            const cell = Math.floor(i / block) * 3 + cfaAt(raw.cfa!, row, column)
            sums[cell]! += (value - level) / (white - level)
            counts[cell]!++
          }
    for (let x = 0; x < width; x++) {
      const [r, g, b] = [0, 1, 2].map((c) => sums[x * 3 + c]! / Math.max(1, counts[x * 3 + c]!)) as [
        number,
        number,
        number,
      ]
      for (let c = 0; c < 3; c++)
        data[(y * width + x) * 3 + c] = shown(matrix[c * 3]! * r + matrix[c * 3 + 1]! * g + matrix[c * 3 + 2]! * b)
    }
  }
  return { width, height, channels: 3, data }
}

/** Size of a frame's picture as it is shown, from its header alone. */
export async function frameSize(host: Host, path: string): Promise<{ width: number; height: number }> {
  const { description } = await seeFile(host.files, path)
  if (description instanceof Failure) throw description.with({ path })
  const { width, height } = description.kind === 'dng' ? description.crop : description
  return orientedSize(width, height, description.orientation)
}
