import { Failure, type LeftOut, malformed, overLimit, unsupported } from '#core/base'
import { type ByteWindow, byteWindow } from '#core/formats'
import { type OpcodeContent, opcodeContent, opcodeName } from './opcode-content.ts'
import type { Opcode, OpcodeArea } from './types.ts'

const MAX_OPCODES = 1024
const HEADER_BYTES = 16

/**
 * Parses an opcode list (DNG 1.6 chapter 7): always big-endian, whatever the file's byte order. An optional opcode that
 * is unknown or damaged is left out; a required one refuses the file, as the chapter asks.
 * @throws malformed "opcode-list", "opcode-data"; unsupported "opcode-unknown"; limit "too-many-opcodes"
 */
export function parseOpcodeList(bytes: Uint8Array, list: 1 | 2 | 3): { opcodes: Opcode[]; leftOut: LeftOut[] } {
  const opcodes: Opcode[] = []
  const leftOut: LeftOut[] = []
  const window = byteWindow(bytes, false)
  if (bytes.length < 4) throw malformed('opcode-list', { list, foundBytes: bytes.length })
  const count = window.u32(0)
  if (count > MAX_OPCODES) throw overLimit('too-many-opcodes', { list, found: count, limit: MAX_OPCODES })
  let at = 4
  for (let i = 0; i < count; i++) {
    if (at + HEADER_BYTES > bytes.length) throw malformed('opcode-list', { list, index: i, offset: at })
    const id = window.u32(at)
    const version = window.u32(at + 4)
    const flags = window.u32(at + 8)
    const length = window.u32(at + 12)
    const data = at + HEADER_BYTES
    if (data + length > bytes.length) throw malformed('opcode-list', { list, index: i, id, wantedBytes: length })
    at = data + length
    const optional = (flags & 1) !== 0
    const facts = { list, id, name: opcodeName(id) ?? 'unknown' }
    if (opcodeName(id) === null) {
      if (!optional) throw unsupported('opcode-unknown', facts)
      leftOut.push({ what: `opcode ${id} of list ${list}`, reason: 'opcode-unknown', facts })
      continue
    }
    const content = readContent(id, byteWindow(bytes.subarray(data, at), false), optional, facts, leftOut)
    if (content === null) continue
    opcodes.push({
      list,
      id,
      name: opcodeName(id)!,
      version,
      optional,
      skipForPreview: (flags & 2) !== 0,
      content,
    })
  }
  return { opcodes, leftOut }
}

function readContent(
  id: number,
  data: ByteWindow,
  optional: boolean,
  facts: { list: number; id: number; name: string },
  leftOut: LeftOut[],
): OpcodeContent | null {
  try {
    return opcodeContent(id, data)
  } catch (error) {
    if (!(error instanceof Failure)) throw error
    if (!optional) throw malformed('opcode-data', { ...error.facts, ...facts })
    leftOut.push({
      what: `opcode ${id} of list ${facts.list}`,
      reason: 'opcode-data',
      facts: { ...error.facts, ...facts },
    })
    return null
  }
}

/**
 * The rows and columns that an opcode's area covers in a picture of width × height: an empty rectangle means the whole
 * picture, as the format's own reference code reads it; anything else is cut to the picture and may come out empty.
 */
export function opcodeExtent(area: OpcodeArea, width: number, height: number): OpcodeArea {
  if (area.bottom <= area.top || area.right <= area.left)
    return { ...area, top: 0, left: 0, bottom: height, right: width }
  return {
    ...area,
    top: Math.min(area.top, height),
    left: Math.min(area.left, width),
    bottom: Math.min(area.bottom, height),
    right: Math.min(area.right, width),
  }
}
