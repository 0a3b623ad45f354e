export { type DecodeJob, decodeMany, decodeRaw, decodeRawBytes, rawTasks } from './decode.ts'
export { describeRaw } from './describe-raw.ts'
export { describeRendered } from './describe-rendered.ts'
export { ev100 } from './exposure-facts.ts'
export { opcodeExtent, parseOpcodeList } from './opcodes.ts'
export { sniff } from './sniff.ts'
export type {
  BlackLevel,
  ExposureFacts,
  GainMap,
  NoiseTerm,
  Opcode,
  OpcodeArea,
  Packing,
  Position,
  RawFile,
  RenderedFile,
  Segment,
  TakenAt,
  VignetteRadial,
  WarpRectilinear,
} from './types.ts'
