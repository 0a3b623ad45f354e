import type { RawFile, Segment } from '#picture/raw'

/** A raw file's description with nothing special in it; `over` says what a test is about. */
export function rawFile(over: Partial<RawFile> & Pick<RawFile, 'width' | 'height' | 'segments'>): RawFile {
  const whole = { x: 0, y: 0, width: over.width, height: over.height }
  return {
    kind: 'dng',
    littleEndian: true,
    samples: 'cfa',
    samplesPerPixel: 1,
    cfa: null,
    bitsPerSample: 16,
    packing: 'none',
    compression: 1,
    predictor: 1,
    linearisation: null,
    black: { repeatRows: 1, repeatColumns: 1, values: [0], deltaColumns: null, deltaRows: null },
    white: [65535],
    activeArea: whole,
    maskedAreas: [],
    crop: whole,
    orientation: 1,
    baselineExposureStops: 0,
    noise: null,
    colour: {
      illuminant1: null,
      illuminant2: null,
      colorMatrix1: null,
      colorMatrix2: null,
      forwardMatrix1: null,
      forwardMatrix2: null,
      cameraCalibration1: null,
      cameraCalibration2: null,
      analogBalance: null,
      asShotNeutral: null,
      asShotWhiteXY: null,
    },
    opcodes: [],
    exposureSeconds: null,
    fNumber: null,
    iso: null,
    ev100: null,
    focalLengthMillimetres: null,
    takenAt: { utc: null, camera: null, offsetMinutes: null, subSecond: 0 },
    make: null,
    model: null,
    attitude: null,
    position: null,
    leftOut: [],
    ...over,
  }
}

/**
 * A file of tiles: cuts a picture of interleaved samples into full-size tiles (edge tiles are filled up with 1), packs each
 * with `pack`, and puts them behind each other with a byte between.
 */
export function tiled(
  picture: {
    readonly width: number
    readonly height: number
    readonly samplesPerPixel: number
    readonly samples: ArrayLike<number>
  },
  tileWidth: number,
  tileHeight: number,
  pack: (samples: Uint16Array, width: number, height: number) => Uint8Array,
): { bytes: Uint8Array; segments: Segment[] } {
  const { width, height, samplesPerPixel: n, samples } = picture
  const parts: Uint8Array[] = []
  const segments: Segment[] = []
  let offset = 0
  for (let y = 0; y < height; y += tileHeight)
    for (let x = 0; x < width; x += tileWidth) {
      const tile = new Uint16Array(tileWidth * tileHeight * n).fill(1)
      for (let row = 0; row < Math.min(tileHeight, height - y); row++)
        for (let i = 0; i < Math.min(tileWidth, width - x) * n; i++)
          tile[row * tileWidth * n + i] = samples[((y + row) * width + x) * n + i]!
      const bytes = pack(tile, tileWidth, tileHeight)
      segments.push({ x, y, width: tileWidth, height: tileHeight, offset, byteCount: bytes.length })
      parts.push(bytes, Uint8Array.of(0xee))
      offset += bytes.length + 1
    }
  return { bytes: new Uint8Array(Buffer.concat(parts)), segments }
}
