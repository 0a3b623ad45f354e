import { type Address, type Crew, printConstant, type Task } from '#core/kernels'
import { luminanceOfZone, type Rung, toneCurve } from './curve.ts'
import type { PrintSettings } from './look.ts'
import type { RadiancePlanes } from './planes.ts'
import type { Scene } from './scene.ts'

/** Pixel rows an item of work. */
const STRIP_ROWS = 64
/** Entries of the tone table a stop. */
const PER_STOP = 64
/** A pixel whose luminance is this many standard deviations of its chroma noise trusts its own chroma by half. */
const TRUST_DEVIATIONS = 3

interface PrintParams extends RadiancePlanes {
  readonly step: number
  /** (A, B, ρr, ρb) a cell, one cell repeated on every side. */
  readonly cells: Address
  readonly cellColumns: number
  readonly tone: Address
  readonly constants: Address
  readonly out: Address
}

const aligned = (bytes: number) => Math.ceil(bytes / 64) * 64 + 64

function strip(bits: 8 | 16): Task {
  return ({ kernels, scratch }, p: PrintParams, item) => {
    const rowBytes = aligned(p.width * 4)
    const blended = scratch
    const [er, eg, eb] = [0, 1, 2].map((i) => scratch + aligned(p.cellColumns * 16) + i * rowBytes) as [
      number,
      number,
      number,
    ]
    const end = Math.min(p.height, (item + 1) * STRIP_ROWS)
    for (let y = item * STRIP_ROWS; y < end; y++) {
      const at = (y + 0.5) / p.step + 0.5
      const k = Math.floor(at)
      const above = p.cells + k * p.cellColumns * 16
      kernels.printBlend(above, above + p.cellColumns * 16, at - k, blended, p.cellColumns)
      const skip = y * p.stride * 4
      kernels.printTone(p.r + skip, p.g + skip, p.b + skip, p.width, blended, p.step, p.tone, p.constants, er, eg, eb)
      if (bits === 8) kernels.printCode8(er, eg, eb, p.width, y, p.out + y * p.width * 3)
      else kernels.printCode16(er, eg, eb, p.width, p.out + y * p.width * 6)
    }
  }
}

export const print8Task: Task = strip(8)
export const print16Task: Task = strip(16)

/** Display-linear level for every 1/64 stop of the ladder. */
export function toneTable(rungs: readonly Rung[]): { start: number; levels: Float32Array } {
  const start = rungs[0]!.sceneStops
  const count = Math.ceil((rungs[rungs.length - 1]!.sceneStops - start) * PER_STOP) + 2
  const curve = toneCurve(rungs)
  return { start, levels: Float32Array.from({ length: count }, (_, i) => luminanceOfZone(curve(start + i / PER_STOP))) }
}

function constantsOf(scene: Scene, settings: PrintSettings, start: number, entries: number): Float32Array {
  const { chromaNoise, lampWhite } = settings
  const scale = chromaNoise.scale * TRUST_DEVIATIONS ** 2
  const offset = chromaNoise.offset * TRUST_DEVIATIONS ** 2
  const level = luminanceOfZone(lampWhite.fromZone)
  const out = new Float32Array(printConstant.length)
  out[printConstant.toneStart] = start
  out[printConstant.tonePerStop] = PER_STOP
  out[printConstant.toneLast] = entries - 1.001
  out[printConstant.floor] = scene.floor
  out[printConstant.noiseScale] = scale
  out[printConstant.noiseOffset] = offset
  out[printConstant.quietAbove] = 25 * scale + Math.sqrt((25 * scale) ** 2 + 50 * offset)
  out[printConstant.whiteLevel] = level
  out[printConstant.whiteLightness] = Math.cbrt(level)
  out[printConstant.whiteMost] = lampWhite.most
  return out
}

/** s′ = A log2 N + B: anchor and range compression in one, from base = a s + b: s′ = s − c · base, both from the anchor. */
function cellTable(scene: Scene, settings: PrintSettings): Float32Array {
  const { columns, rows, base, rhoR, rhoB } = scene
  const { anchorStops, baseCompression: c } = settings
  const out = new Float32Array((columns + 2) * (rows + 2) * 4)
  for (let y = 0; y < rows + 2; y++) {
    const sy = Math.min(Math.max(y - 1, 0), rows - 1)
    for (let x = 0; x < columns + 2; x++) {
      const i = sy * columns + Math.min(Math.max(x - 1, 0), columns - 1)
      const k = (y * (columns + 2) + x) * 4
      out[k] = 1 - c * base.a[i]!
      out[k + 1] = -anchorStops - c * (base.b[i]! - anchorStops)
      out[k + 2] = rhoR[i]!
      out[k + 3] = rhoB[i]!
    }
  }
  return out
}

async function render(
  crew: Crew,
  task: string,
  planes: RadiancePlanes,
  scene: Scene,
  settings: PrintSettings,
  out: Address,
): Promise<void> {
  const mark = crew.arena.mark()
  try {
    const put = (values: Float32Array) => {
      const at = crew.arena.alloc(values.byteLength)
      crew.arena.f32(at, values.length).set(values)
      return at
    }
    const { start, levels } = toneTable(settings.rungs)
    const params: PrintParams = {
      ...planes,
      step: scene.step,
      cells: put(cellTable(scene, settings)),
      cellColumns: scene.columns + 2,
      tone: put(levels),
      constants: put(constantsOf(scene, settings, start, levels.length)),
      out,
    }
    await crew.run(task, params, Math.ceil(planes.height / STRIP_ROWS))
  } finally {
    crew.arena.release(mark)
  }
}

/** Interleaved 8-bit sRGB, dithered: width × height × 3 bytes at `out`. */
export const renderPrint8 = (
  crew: Crew,
  planes: RadiancePlanes,
  scene: Scene,
  settings: PrintSettings,
  out: Address,
): Promise<void> => render(crew, 'finish.print8', planes, scene, settings, out)

/** Interleaved 16-bit sRGB: width × height × 6 bytes at `out`. */
export const renderPrint16 = (
  crew: Crew,
  planes: RadiancePlanes,
  scene: Scene,
  settings: PrintSettings,
  out: Address,
): Promise<void> => render(crew, 'finish.print16', planes, scene, settings, out)

/** Memory that measuring and printing take in the arena beside the planes, the print itself included. */
export function printBytes(width: number, height: number, bits: 8 | 16): number {
  const cells = (Math.ceil(width / 8) + 2) * (Math.ceil(height / 8) + 2)
  return width * height * 3 * (bits / 8) + cells * 48 + 256 * 1024
}
