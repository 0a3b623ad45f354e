import { useCallback, useEffect, useRef, useState } from 'react'
import type { DeskState, PrintSettings } from '#jobs/contract'
import { client, type PictureName } from './client.ts'

/** The name under which the browser keeps how long a picture took from the hand's move to the screen. */
export const LIVE_MEASURE = 'rung-to-picture'

export interface Live {
  readonly canvas: React.RefObject<HTMLCanvasElement | null>
  show(settings: PrintSettings, startedAt: number): void
  readonly ready: boolean
}

/** Draws what settings give, as fast as it comes: one request under way, and of those that wait only the newest. */
export function useLive(outing: string, picture: PictureName, onError: (error: unknown) => void): Live {
  const canvas = useRef<HTMLCanvasElement>(null)
  const [ready, setReady] = useState(false)
  const waiting = useRef<{ settings: PrintSettings; startedAt: number } | null>(null)
  const busy = useRef(false)
  const alive = useRef(true)
  useEffect(() => {
    alive.current = true
    return () => {
      alive.current = false
    }
  }, [])
  const fail = useRef(onError)
  fail.current = onError
  const id = picture.name
  const run = useCallback(async () => {
    if (busy.current) return
    busy.current = true
    try {
      while (waiting.current && alive.current) {
        const { settings, startedAt } = waiting.current
        waiting.current = null
        const bitmap = await createImageBitmap(await client.preview(outing, id, settings))
        const target = canvas.current
        if (target && alive.current) {
          if (target.width !== bitmap.width) {
            target.width = bitmap.width
            target.height = bitmap.height
          }
          target.getContext('2d')?.drawImage(bitmap, 0, 0)
          performance.measure(LIVE_MEASURE, { start: startedAt, end: performance.now() })
          setReady(true)
        }
        bitmap.close()
      }
    } catch (error) {
      waiting.current = null
      fail.current(error)
    } finally {
      busy.current = false
    }
  }, [outing, id])
  const show = useCallback(
    (settings: PrintSettings, startedAt: number) => {
      waiting.current = { settings, startedAt }
      void run()
    },
    [run],
  )
  return { canvas, show, ready }
}

export function LivePicture({
  live,
  desk,
  label,
}: {
  readonly live: Live
  readonly desk: DeskState
  readonly label: string
}) {
  return (
    <figure className="live">
      <canvas
        ref={live.canvas}
        role="img"
        aria-label={label}
        style={{
          aspectRatio: `${desk.preview.width} / ${desk.preview.height}`,
          maxWidth: `calc(74vh * ${desk.preview.width / desk.preview.height})`,
        }}
        data-ready={live.ready}
      />
      <figcaption className="why">
        {desk.preview.width} × {desk.preview.height} of {desk.width} × {desk.height} pixels, by the same steps as the
        print
      </figcaption>
    </figure>
  )
}
