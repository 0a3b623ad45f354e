import { type AlignKernel, plainAlign } from './align/align.ts'
import type { Memory } from './arena.ts'
import { type CombineKernel, plainCombine } from './combine/combine.ts'
import { type DemosaicKernel, plainDemosaic } from './demosaic/demosaic.ts'
import { type ExpectKernel, plainExpect } from './expect/expect.ts'
import { type GrainKernel, plainGrain } from './grain/grain.ts'
import { type HalfKernel, plainHalf } from './half/half.ts'
import { type LevelsKernel, plainLevels } from './levels/levels.ts'
import { type LosslessJpegKernel, plainLosslessJpeg } from './ljpeg/ljpeg.ts'
import { type LumaKernel, plainLuma } from './luma/luma.ts'
import { type PlanesKernel, plainPlanes } from './planes/planes.ts'
import { type PrintKernel, plainPrint } from './print/print.ts'
import { type PyramidKernel, plainPyramid } from './pyramid/pyramid.ts'
import { plainResample, type ResampleKernel } from './resample/resample.ts'
import { plainShade, type ShadeKernel } from './shade/shade.ts'
import { plainUnpack, type UnpackKernel } from './unpack/unpack.ts'
import { plainWarp, type WarpKernel } from './warp/warp.ts'
import { plainWorking, type WorkingKernel } from './working/working.ts'

/**
 * Every hot loop, by name. Addresses are bytes in the shared memory. The SIMD module exports the same names with the
 * same arguments, so either set can stand behind this interface; the plain set is the definition of right.
 */
export interface Kernels
  extends ExpectKernel,
    GrainKernel,
    HalfKernel,
    LevelsKernel,
    LosslessJpegKernel,
    UnpackKernel,
    LumaKernel,
    PyramidKernel,
    AlignKernel,
    PlanesKernel,
    ResampleKernel,
    CombineKernel,
    DemosaicKernel,
    PrintKernel,
    ShadeKernel,
    WarpKernel,
    WorkingKernel {}

export const plainKernels = (memory: Memory): Kernels => ({
  ...plainExpect(memory),
  ...plainGrain(memory),
  ...plainHalf(memory),
  ...plainLevels(memory),
  ...plainLosslessJpeg(memory),
  ...plainUnpack(memory),
  ...plainLuma(memory),
  ...plainPyramid(memory),
  ...plainAlign(memory),
  ...plainPlanes(memory),
  ...plainResample(memory),
  ...plainCombine(memory),
  ...plainDemosaic(memory),
  ...plainPrint(memory),
  ...plainShade(memory),
  ...plainWarp(memory),
  ...plainWorking(memory),
})
