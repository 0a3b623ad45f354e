import type { LeftOut } from '#core/base'
import type { Address, Crew } from '#core/kernels'
import type { Opcode } from '#picture/raw'
import { type GainPass, layGainMap } from './gain-field.ts'
import { type GainStep, strips } from './gain-rows.ts'
import { notApplied } from './left-out.ts'

/** A linear mosaic, the active area only; opcode coordinates count from its top-left. */
export interface ShadedMosaic {
  /** f32, width × height. */
  readonly mosaic: Address
  /** f32 of the same shape, or 0 for none. */
  readonly variance: Address
  readonly width: number
  readonly height: number
  /** Floats from one row to the next; default the width. */
  readonly stride?: number
  readonly opcodes: readonly Opcode[]
}

/**
 * The gain maps of opcode list 2 on a linear mosaic, in place: values times the gain, variances times its square.
 * Values are not clipped at 1 afterwards (the reference code clips): the merge judges saturation on stored codes.
 * Other lists are ignored; other opcodes of list 2 are returned as not applied.
 */
export async function applyGainMaps(crew: Crew, picture: ShadedMosaic): Promise<LeftOut[]> {
  const { mosaic, variance, width, height, stride = width } = picture
  const opcodes = picture.opcodes.filter((o) => o.list === 2)
  return runMaps(crew, opcodes, { samples: 'linear', values: mosaic, variance, width, height, stride })
}

/** Stored samples of the whole raw area, before linearisation and black; opcode coordinates count from its corner. */
export interface StoredMosaic {
  /** u16, width × height. */
  readonly samples: Address
  readonly width: number
  readonly height: number
  readonly opcodes: readonly Opcode[]
}

/**
 * The gain maps of opcode list 1 on stored codes, in place, rounded to nearest and clipped at 65535. Maps that reach the
 * same sample are multiplied first and rounded once. Other opcodes of list 1 are returned as not applied.
 */
export async function applyStoredGainMaps(crew: Crew, picture: StoredMosaic): Promise<LeftOut[]> {
  const { samples, width, height } = picture
  const opcodes = picture.opcodes.filter((o) => o.list === 1)
  return runMaps(crew, opcodes, { samples: 'stored', values: samples, variance: 0, width, height, stride: width })
}

async function runMaps(crew: Crew, opcodes: readonly Opcode[], step: Omit<GainStep, 'passes'>): Promise<LeftOut[]> {
  const leftOut: LeftOut[] = []
  const passes: GainPass[] = []
  const mark = crew.arena.mark()
  try {
    for (const opcode of opcodes) {
      const { content } = opcode
      if (content.kind !== 'gain-map') leftOut.push(notApplied(opcode, 'opcode-not-applied'))
      else if (content.area.plane > 0) leftOut.push(notApplied(opcode, 'plane-not-present'))
      else {
        const pass = layGainMap(crew.arena, content, 0, step.width, step.height)
        if (pass) passes.push(pass)
        else leftOut.push(notApplied(opcode, 'area-outside-picture'))
      }
    }
    if (passes.length > 0) await crew.run('shading.gains', { ...step, passes } satisfies GainStep, strips(step.height))
  } finally {
    crew.arena.release(mark)
  }
  return leftOut
}
