import type { Address, Memory, Task, TaskTable } from '#core/kernels'
import { type FrameLevels, frameLevels, type LevelRequest } from './frame-levels.ts'

/** Frames to be measured, one an item of the task `measure.levels`. */
export interface LevelWork {
  readonly frames: readonly (LevelRequest & {
    /** LEVEL_RESULT_BYTES of memory for what was found. */
    readonly result: Address
  })[]
}

/** A frame's findings as text: some 4,000 characters. */
export const LEVEL_RESULT_BYTES = 32_768

/** Measures one frame in a worker; what it found stands as text in the shared memory, since a task returns nothing. */
export const levelsTask: Task = (context, p: LevelWork, item) => {
  const { result, ...request } = p.frames[item]!
  const text = JSON.stringify(frameLevels(context, request))
  const bytes = context.memory.u8(result, LEVEL_RESULT_BYTES)
  context.memory.u32(result, 1)[0] = text.length
  // Numbers and our own words: one byte a character.
  for (let i = 0; i < text.length; i++) bytes[4 + i] = text.charCodeAt(i)
}

/** What `measure.levels` left at `result`. */
export function readLevels(memory: Memory, result: Address): FrameLevels {
  const [length] = memory.u32(result, 1)
  const bytes = memory.u8(result + 4, length!)
  let text = ''
  for (const byte of bytes) text += String.fromCharCode(byte)
  return JSON.parse(text) as FrameLevels
}

export const levelTasks: TaskTable = { 'measure.levels': levelsTask }
