/** Where a viewer looks: the picture's point in the middle of the window (shares of width and height), and the zoom. */
export interface Look {
  readonly x: number
  readonly y: number
  /** Screen pixels a picture pixel; 0 fits the whole picture into the window. */
  readonly zoom: number
}

export interface Size {
  readonly width: number
  readonly height: number
}

export const FIT: Look = { x: 0.5, y: 0.5, zoom: 0 }
/** A picture pixel is at most this many screen pixels: enough to count them. */
const MOST_ZOOM = 16

export const fitZoom = (picture: Size, window: Size): number =>
  Math.min(window.width / picture.width, window.height / picture.height)

export const zoomOf = (look: Look, picture: Size, window: Size): number =>
  look.zoom > 0 ? look.zoom : fitZoom(picture, window)

/** Keeps the picture in the window: centred where it is smaller, without a gap where it is larger. */
export function bounded(look: Look, picture: Size, window: Size): Look {
  const fit = fitZoom(picture, window)
  if (look.zoom === 0 || look.zoom <= fit * 1.001) return FIT
  const zoom = Math.min(look.zoom, Math.max(MOST_ZOOM, fit))
  const within = (share: number, length: number, room: number) => {
    const half = room / (2 * zoom * length)
    return half >= 0.5 ? 0.5 : Math.min(1 - half, Math.max(half, share))
  }
  return {
    x: within(look.x, picture.width, window.width),
    y: within(look.y, picture.height, window.height),
    zoom,
  }
}

/** The picture's pixel under a point of the window; fractions are places within a pixel. */
export function pixelAt(
  look: Look,
  picture: Size,
  window: Size,
  at: { x: number; y: number },
): { x: number; y: number } {
  const zoom = zoomOf(look, picture, window)
  return {
    x: look.x * picture.width + (at.x - window.width / 2) / zoom,
    y: look.y * picture.height + (at.y - window.height / 2) / zoom,
  }
}

/** Zooms by a factor so that what is under a point of the window stays there. */
export function zoomedAt(look: Look, picture: Size, window: Size, at: { x: number; y: number }, factor: number): Look {
  const fit = fitZoom(picture, window)
  const before = zoomOf(look, picture, window)
  const zoom = Math.min(Math.max(MOST_ZOOM, fit), Math.max(fit, before * factor))
  const held = pixelAt(look, picture, window, at)
  return bounded(
    {
      x: (held.x - (at.x - window.width / 2) / zoom) / picture.width,
      y: (held.y - (at.y - window.height / 2) / zoom) / picture.height,
      zoom,
    },
    picture,
    window,
  )
}

/** Moves by screen pixels, as the hand drags the picture. */
export function moved(look: Look, picture: Size, window: Size, by: { x: number; y: number }): Look {
  const zoom = zoomOf(look, picture, window)
  return bounded(
    { zoom: look.zoom, x: look.x - by.x / (zoom * picture.width), y: look.y - by.y / (zoom * picture.height) },
    picture,
    window,
  )
}

export interface TilePlace {
  readonly level: number
  readonly column: number
  readonly row: number
  /** In screen pixels. */
  readonly left: number
  readonly top: number
  readonly width: number
  readonly height: number
}

/** The level whose pixels are next above one screen pixel. */
export const levelFor = (zoom: number, levels: number): number =>
  Math.min(levels - 1, Math.max(0, Math.floor(-Math.log2(Math.max(zoom, 1e-6)) + 1e-6)))

/** Tiles of a level (0 full size, of the given sizes) that the window shows, nearest to its middle first. */
export function tilesFor(look: Look, levels: readonly Size[], window: Size, tile: number, level: number): TilePlace[] {
  const picture = levels[0]!
  const own = levels[level]!
  const zoom = zoomOf(look, picture, window)
  const [wide, tall] = [(picture.width / own.width) * zoom, (picture.height / own.height) * zoom]
  const left = window.width / 2 - look.x * picture.width * zoom
  const top = window.height / 2 - look.y * picture.height * zoom
  const columns = Math.ceil(own.width / tile)
  const rows = Math.ceil(own.height / tile)
  const first = (start: number, side: number) => Math.max(0, Math.floor(-start / side))
  const last = (start: number, side: number, room: number, count: number) =>
    Math.min(count - 1, Math.floor((room - start) / side))
  const places: TilePlace[] = []
  for (let row = first(top, tile * tall); row <= last(top, tile * tall, window.height, rows); row++)
    for (let column = first(left, tile * wide); column <= last(left, tile * wide, window.width, columns); column++) {
      const width = Math.min(tile, own.width - column * tile) * wide
      const height = Math.min(tile, own.height - row * tile) * tall
      places.push({
        level,
        column,
        row,
        left: left + column * tile * wide,
        top: top + row * tile * tall,
        width,
        height,
      })
    }
  const away = (p: TilePlace) =>
    Math.hypot(p.left + p.width / 2 - window.width / 2, p.top + p.height / 2 - window.height / 2)
  return places.sort((a, b) => away(a) - away(b))
}

/** A look in an address, and back. */
export const lookText = ({ x, y, zoom }: Look): string | null =>
  zoom === 0 ? null : [x.toFixed(4), y.toFixed(4), Number(zoom.toFixed(4))].join('_')

export function lookOf(text: string | undefined): Look {
  const [x, y, zoom] = (text ?? '').split('_').map(Number)
  const good = [x, y, zoom].every((v) => v !== undefined && Number.isFinite(v) && v >= 0)
  return good && x! <= 1 && y! <= 1 && zoom! <= MOST_ZOOM ? { x: x!, y: y!, zoom: zoom! } : FIT
}
