/**
 * OpenEXR scanline files, uncompressed ("OpenEXR File Layout", Academy Software Foundation): magic 20000630, version 2,
 * little-endian throughout, channels in alphabetical order, one block a row.
 */

export interface ExrChannelToWrite {
  readonly name: string
  /** width × height samples, row by row: halves as their 16 bits, or floats. */
  readonly samples: Uint16Array | Float32Array
}

/** A channel by name and type. */
export interface ExrChannelType {
  readonly name: string
  readonly type: 'half' | 'float'
}

/** The x, y of red, green, blue and white. */
export type Chromaticities = readonly [number, number, number, number, number, number, number, number]

/** Rec. ITU-R BT.709-6 item 1.3: the primaries and D65 white of linear sRGB. */
export const linearSrgbChromaticities: Chromaticities = [0.64, 0.33, 0.3, 0.6, 0.15, 0.06, 0.3127, 0.329]

export interface ExrPicture {
  readonly width: number
  readonly height: number
  readonly channels: readonly ExrChannelToWrite[]
  readonly chromaticities?: Chromaticities
  /** cd/m² of a pixel whose Y is 1 (standard attribute whiteLuminance). */
  readonly whiteLuminance?: number
  /** More attributes: text becomes type string, a number type float. */
  readonly attributes?: Readonly<Record<string, string | number>>
}

/** Grows a header piece by piece. */
function headerBuilder() {
  const bytes: number[] = []
  const view = new DataView(new ArrayBuffer(4))
  const four = () => bytes.push(view.getUint8(0), view.getUint8(1), view.getUint8(2), view.getUint8(3))
  const self = {
    bytes,
    int(n: number) {
      view.setInt32(0, n, true)
      four()
    },
    float(n: number) {
      view.setFloat32(0, n, true)
      four()
    },
    /** Text with non-ASCII characters as UTF-8 (OpenEXR strings carry no encoding tag; UTF-8 is its stated practice). */
    text(s: string) {
      for (const character of s) {
        const c = character.codePointAt(0)!
        if (c < 0x80) bytes.push(c)
        else if (c < 0x800) bytes.push(0xc0 | (c >> 6), 0x80 | (c & 63))
        else if (c < 0x10000) bytes.push(0xe0 | (c >> 12), 0x80 | ((c >> 6) & 63), 0x80 | (c & 63))
        else bytes.push(0xf0 | (c >> 18), 0x80 | ((c >> 12) & 63), 0x80 | ((c >> 6) & 63), 0x80 | (c & 63))
      }
    },
    name(s: string) {
      self.text(s)
      bytes.push(0)
    },
    attribute(name: string, type: string, write: () => void) {
      self.name(name)
      self.name(type)
      const sizeAt = bytes.length
      self.int(0)
      write()
      view.setInt32(0, bytes.length - sizeAt - 4, true)
      for (let i = 0; i < 4; i++) bytes[sizeAt + i] = view.getUint8(i)
    },
  }
  return self
}

const byName = (a: { name: string }, b: { name: string }) => (a.name < b.name ? -1 : a.name > b.name ? 1 : 0)

function headerBytes(picture: Omit<ExrPicture, 'channels'>, channels: readonly ExrChannelType[]): number[] {
  const h = headerBuilder()
  const box = () => [0, 0, picture.width - 1, picture.height - 1].forEach(h.int)
  h.int(20000630)
  h.int(2)
  h.attribute('channels', 'chlist', () => {
    for (const c of channels) {
      h.name(c.name)
      h.int(c.type === 'float' ? 2 : 1)
      // pLinear and three reserved bytes, then the sampling steps in x and y.
      h.int(0)
      h.int(1)
      h.int(1)
    }
    h.bytes.push(0)
  })
  if (picture.chromaticities)
    h.attribute('chromaticities', 'chromaticities', () => picture.chromaticities!.forEach(h.float))
  h.attribute('compression', 'compression', () => h.bytes.push(0))
  h.attribute('dataWindow', 'box2i', box)
  h.attribute('displayWindow', 'box2i', box)
  h.attribute('lineOrder', 'lineOrder', () => h.bytes.push(0))
  h.attribute('pixelAspectRatio', 'float', () => h.float(1))
  h.attribute('screenWindowCenter', 'v2f', () => {
    h.float(0)
    h.float(0)
  })
  h.attribute('screenWindowWidth', 'float', () => h.float(1))
  if (picture.whiteLuminance !== undefined) {
    h.attribute('whiteLuminance', 'float', () => h.float(picture.whiteLuminance!))
  }
  for (const [name, value] of Object.entries(picture.attributes ?? {})) {
    if (typeof value === 'number') h.attribute(name, 'float', () => h.float(value))
    else h.attribute(name, 'string', () => h.text(value))
  }
  h.bytes.push(0)
  return h.bytes
}

/** Before each row's samples: row number and data size, i32 each. */
export const EXR_ROW_HEAD_BYTES = 8

/** How the rows of a file lie after its header: what a writer that fills them itself needs. */
export interface ExrLayout {
  /** Header and offset table. */
  readonly head: Uint8Array
  /** Bytes of one row's block: eight of block header (row number and data size, i32), then the channels' rows. */
  readonly blockBytes: number
  /** Where each channel's row starts in a block, in the order the channels were given. */
  readonly channelOffsets: readonly number[]
}

/** Header and layout of a file whose row blocks follow one another; samples of `channels` are only asked for their type. */
export function exrLayout(
  picture: Omit<ExrPicture, 'channels'> & { readonly channels: readonly ExrChannelType[] },
): ExrLayout {
  const { width, height } = picture
  const channels = [...picture.channels].sort(byName)
  const size = (c: ExrChannelType) => width * (c.type === 'float' ? 4 : 2)
  const rowBytes = channels.reduce((n, c) => n + size(c), 0)
  const header = headerBytes(picture, channels)
  const head = new Uint8Array(header.length + height * 8)
  head.set(header)
  const view = new DataView(head.buffer)
  for (let y = 0; y < height; y++) {
    view.setBigUint64(header.length + y * 8, BigInt(head.length + y * (rowBytes + EXR_ROW_HEAD_BYTES)), true)
  }
  const before = (name: string) => {
    let n = EXR_ROW_HEAD_BYTES
    for (const c of channels) {
      if (c.name === name) return n
      n += size(c)
    }
    return n
  }
  return {
    head,
    blockBytes: rowBytes + EXR_ROW_HEAD_BYTES,
    channelOffsets: picture.channels.map((c) => before(c.name)),
  }
}

/** The file in one piece. */
export function writeExr(picture: ExrPicture): Uint8Array {
  const { width, height, channels } = picture
  const types = channels.map(({ name, samples }) => ({
    name,
    type: samples instanceof Float32Array ? ('float' as const) : ('half' as const),
  }))
  const { head, blockBytes, channelOffsets } = exrLayout({ ...picture, channels: types })
  const whole = new Uint8Array(head.length + height * blockBytes)
  whole.set(head)
  const view = new DataView(whole.buffer)
  for (let y = 0; y < height; y++) {
    const at = head.length + y * blockBytes
    view.setInt32(at, y, true)
    view.setInt32(at + 4, blockBytes - 8, true)
    channels.forEach(({ samples }, c) => {
      const bytes = width * samples.BYTES_PER_ELEMENT
      whole.set(new Uint8Array(samples.buffer, samples.byteOffset + y * bytes, bytes), at + channelOffsets[c]!)
    })
  }
  return whole
}
