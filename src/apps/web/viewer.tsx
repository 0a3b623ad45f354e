import { type KeyboardEvent, type PointerEvent, type ReactNode, useCallback, useEffect, useRef, useState } from 'react'
import type { PictureState, PixelState } from '#jobs/contract'
import { addressOf, client, type PictureName } from './client.ts'
import { useAsked, useOuting } from './store.tsx'
import {
  bounded,
  FIT,
  type Look,
  levelFor,
  moved,
  pixelAt,
  type Size,
  tilesFor,
  zoomedAt,
  zoomOf,
} from './viewer-geometry.ts'
import { ev, stops } from './words.ts'

/** Tiles that have arrived, for every viewer of the page. */
const tiles = new Map<string, HTMLImageElement>()
const MOST_TILES = 400

function tileImage(address: string, arrived: () => void): HTMLImageElement | null {
  const found = tiles.get(address)
  if (found) {
    tiles.delete(address)
    tiles.set(address, found)
    if (found.complete && found.naturalWidth > 0) return found
    found.addEventListener('load', arrived, { once: true })
    return null
  }
  const image = new Image()
  image.decoding = 'async'
  image.addEventListener('load', arrived, { once: true })
  image.src = address
  tiles.set(address, image)
  for (const old of tiles.keys()) {
    if (tiles.size <= MOST_TILES) break
    tiles.delete(old)
  }
  return null
}

export interface ViewerProps {
  readonly picture: PictureName
  readonly label: string
  readonly look: Look
  onLook(look: Look): void
  /** Drawn over the picture, in its pixels. */
  readonly overlay?: (draw: CanvasRenderingContext2D, scale: number, size: PictureState) => void
  readonly children?: ReactNode
  /** A smaller form of it, to be seen until the whole is there. */
  readonly placeholder?: string
}

/** A large picture in tiles: drag or arrow keys move it, wheel or + and − zoom, 1 is 100 %, 0 the whole. */
export function Viewer({ picture, label, look, onLook, overlay, children, placeholder }: ViewerProps) {
  const { outing } = useOuting()
  const size = useAsked(`${outing.id} ${picture.kind} ${picture.name} ${picture.stamp}`, (s) =>
    client.size(outing.id, picture, s),
  )
  return (
    <figure className="viewer">
      {size.value ? (
        <Canvas {...{ picture, label, look, onLook }} size={size.value} {...(overlay ? { overlay } : {})} />
      ) : (
        <div className="viewer-canvas waiting" role="status">
          {size.failure ? (
            size.failure.sentence
          ) : placeholder ? (
            <img className="placeholder" src={placeholder} alt="" />
          ) : (
            'Making the picture…'
          )}
        </div>
      )}
      <figcaption>{children ?? label}</figcaption>
    </figure>
  )
}

function Canvas({
  picture,
  label,
  look,
  onLook,
  size,
  overlay,
}: Omit<ViewerProps, 'children' | 'placeholder'> & { readonly size: PictureState }) {
  const { outing } = useOuting()
  const ref = useRef<HTMLCanvasElement>(null)
  const [room, setRoom] = useState<Size>({ width: 800, height: 600 })
  const [pixel, setPixel] = useState<PixelState | null>(null)
  const [tick, setTick] = useState(0)
  const arrived = useCallback(() => setTick((t) => t + 1), [])
  const shown = bounded(look, size, room)
  const zoom = zoomOf(shown, size, room)

  useEffect(() => {
    const canvas = ref.current
    if (!canvas) return
    const watch = new ResizeObserver(([entry]) => {
      if (entry) setRoom({ width: Math.round(entry.contentRect.width), height: Math.round(entry.contentRect.height) })
    })
    watch.observe(canvas)
    return () => watch.disconnect()
  }, [])

  // biome-ignore lint/correctness/useExhaustiveDependencies: tick says that a tile has arrived.
  useEffect(() => {
    const canvas = ref.current
    const draw = canvas?.getContext('2d')
    if (!canvas || !draw) return
    const density = window.devicePixelRatio
    canvas.width = room.width * density
    canvas.height = room.height * density
    draw.scale(density, density)
    draw.fillStyle = '#000'
    draw.fillRect(0, 0, room.width, room.height)
    draw.imageSmoothingEnabled = zoom * density < 2
    const level = levelFor(zoom * density, size.levels.length)
    // The coarse levels first, so that there is always something to see.
    for (const l of level === size.levels.length - 1 ? [level] : [size.levels.length - 1, level])
      for (const t of tilesFor(shown, size.levels, room, size.tile, l)) {
        const image = tileImage(addressOf.tile(outing.id, picture, l, t.column, t.row), arrived)
        if (image) draw.drawImage(image, t.left, t.top, t.width, t.height)
      }
    if (overlay) {
      draw.save()
      draw.translate(room.width / 2 - shown.x * size.width * zoom, room.height / 2 - shown.y * size.height * zoom)
      draw.scale(zoom, zoom)
      overlay(draw, zoom, size)
      draw.restore()
    }
  }, [outing.id, picture, room, shown.x, shown.y, zoom, size, overlay, tick])

  const hands = useRef(new Map<number, { x: number; y: number }>())
  const latest = useRef({ shown, room })
  latest.current = { shown, room }

  useEffect(() => {
    const canvas = ref.current
    if (!canvas) return
    // Not passive: the page must not scroll while the picture zooms.
    const onWheel = (event: WheelEvent) => {
      event.preventDefault()
      const box = canvas.getBoundingClientRect()
      const at = { x: event.clientX - box.left, y: event.clientY - box.top }
      const { shown: from, room: window } = latest.current
      onLook(zoomedAt(from, size, window, at, 2 ** (-event.deltaY / 240)))
    }
    canvas.addEventListener('wheel', onWheel, { passive: false })
    return () => canvas.removeEventListener('wheel', onWheel)
  }, [onLook, size])

  const placeOf = (event: PointerEvent<HTMLCanvasElement>) => {
    const box = event.currentTarget.getBoundingClientRect()
    return { x: event.clientX - box.left, y: event.clientY - box.top }
  }
  const onMove = (event: PointerEvent<HTMLCanvasElement>) => {
    const at = placeOf(event)
    const before = hands.current.get(event.pointerId)
    if (!before) {
      read(at)
      return
    }
    const others = [...hands.current].filter(([id]) => id !== event.pointerId).map(([, p]) => p)
    hands.current.set(event.pointerId, at)
    const [other] = others
    if (other) {
      const factor =
        Math.hypot(at.x - other.x, at.y - other.y) / Math.max(8, Math.hypot(before.x - other.x, before.y - other.y))
      onLook(zoomedAt(shown, size, room, { x: (at.x + other.x) / 2, y: (at.y + other.y) / 2 }, factor))
    } else onLook(moved(shown, size, room, { x: at.x - before.x, y: at.y - before.y }))
  }
  const reading = useRef<AbortController | null>(null)
  const read = (at: { x: number; y: number }) => {
    const { x, y } = pixelAt(shown, size, room, at)
    reading.current?.abort()
    if (x < 0 || y < 0 || x >= size.width || y >= size.height) {
      setPixel(null)
      return
    }
    const stop = new AbortController()
    reading.current = stop
    setTimeout(() => {
      if (!stop.signal.aborted)
        client.pixel(outing.id, picture, Math.floor(x), Math.floor(y), stop.signal).then(setPixel, () => {})
    }, 60)
  }
  const onKey = (event: KeyboardEvent) => {
    const step = event.shiftKey ? 300 : 60
    const middle = { x: room.width / 2, y: room.height / 2 }
    const ways: Record<string, readonly [x: number, y: number]> = {
      ArrowLeft: [step, 0],
      ArrowRight: [-step, 0],
      ArrowUp: [0, step],
      ArrowDown: [0, -step],
    }
    const way = ways[event.key]
    const keys: Record<string, () => Look> = {
      '+': () => zoomedAt(shown, size, room, middle, 1.5),
      '=': () => zoomedAt(shown, size, room, middle, 1.5),
      '-': () => zoomedAt(shown, size, room, middle, 1 / 1.5),
      '0': () => FIT,
      '1': () => bounded({ ...shown, zoom: 1 / window.devicePixelRatio }, size, room),
    }
    const next = way ? () => moved(shown, size, room, { x: way[0], y: way[1] }) : keys[event.key]
    if (!next || event.ctrlKey || event.metaKey || event.altKey) return
    event.preventDefault()
    onLook(next())
    read(middle)
  }
  const [r, g, b] = pixel?.code ?? []
  return (
    <>
      {/* biome-ignore lint/a11y/noInteractiveElementToNoninteractiveRole: a picture that can be moved is still a picture. */}
      <canvas
        ref={ref}
        className="viewer-canvas"
        tabIndex={0}
        role="application"
        aria-roledescription="picture"
        aria-label={`${label}. Arrow keys move it, plus and minus zoom, 1 shows it at 100 percent, 0 the whole.`}
        onKeyDown={onKey}
        onPointerDown={(e) => {
          e.currentTarget.setPointerCapture(e.pointerId)
          hands.current.set(e.pointerId, placeOf(e))
        }}
        onPointerMove={onMove}
        onPointerUp={(e) => hands.current.delete(e.pointerId)}
        onPointerCancel={(e) => hands.current.delete(e.pointerId)}
        onPointerLeave={() => setPixel(null)}
        onDoubleClick={(e) => {
          const box = e.currentTarget.getBoundingClientRect()
          const at = { x: e.clientX - box.left, y: e.clientY - box.top }
          const whole = 1 / window.devicePixelRatio
          onLook(zoom < whole * 0.99 ? zoomedAt(shown, size, room, at, whole / zoom) : FIT)
        }}
      />
      <div className="readout">
        <span>{Math.round(100 * zoom * window.devicePixelRatio)} %</span>
        {pixel ? (
          <span>
            {pixel.x}, {pixel.y}: {pixel.stops === null ? '' : `${stops(pixel.stops, 2)} stops, `}
            {pixel.ev100 === null ? '' : `EV ${ev(pixel.ev100)}, `}
            output {r} {g} {b}
          </span>
        ) : null}
        <span className="row">
          <button type="button" className="quiet-button" onClick={() => onLook(FIT)}>
            Whole
          </button>
          <button
            type="button"
            className="quiet-button"
            onClick={() => onLook(bounded({ ...shown, zoom: 1 / window.devicePixelRatio }, size, room))}
          >
            100 %
          </button>
        </span>
      </div>
    </>
  )
}
