import type { Context } from 'hono'
import { streamSSE } from 'hono/streaming'
import { overLimit } from '#core/base'
import type { PageEvent } from '#jobs/contract'

/** Windows that may listen at one time. */
const MOST_LISTENERS = 32
const BEAT_MILLISECONDS = 15_000

/** Everyone who listens hears every event; who has fallen far behind loses the stream and comes again. */
export function createEvents() {
  const listeners = new Set<(event: PageEvent) => void>()
  return {
    tell(event: PageEvent) {
      for (const listener of listeners) listener(event)
    },
    get listening() {
      return listeners.size
    },
    stream(c: Context): Response {
      if (listeners.size >= MOST_LISTENERS) throw overLimit('too-many-requests', { limit: MOST_LISTENERS })
      return streamSSE(c, async (stream) => {
        const waiting: PageEvent[] = []
        let wake = () => {}
        const listener = (event: PageEvent) => {
          // Of one job only the newest state matters.
          const at = waiting.findIndex((w) => w.type === 'job' && event.type === 'job' && w.job.id === event.job.id)
          if (at >= 0) waiting[at] = event
          else waiting.push(event)
          wake()
        }
        listeners.add(listener)
        stream.onAbort(() => {
          listeners.delete(listener)
          wake()
        })
        try {
          await stream.writeSSE({ event: 'hello', data: '{}', retry: 1000 })
          while (!stream.aborted && listeners.has(listener)) {
            const event = waiting.shift()
            if (event) {
              await stream.writeSSE({ event: event.type, data: JSON.stringify(event) })
              continue
            }
            await new Promise<void>((resolve) => {
              const timer = setTimeout(resolve, BEAT_MILLISECONDS)
              wake = () => {
                clearTimeout(timer)
                resolve()
              }
            })
            if (waiting.length === 0 && !stream.aborted) await stream.writeSSE({ event: 'beat', data: '{}' })
          }
        } finally {
          listeners.delete(listener)
        }
      })
    },
    /** Ends every stream, so that the server can close. */
    close() {
      listeners.clear()
    },
  }
}

export type Events = ReturnType<typeof createEvents>
