import { useCallback, useEffect, useRef, useState } from 'react'
import { useStore } from './store.tsx'
import { FIT, type Look, lookOf, lookText } from './viewer-geometry.ts'

/** The viewer's look: at once on the screen, a moment later in the address. */
export function useLook(): readonly [Look, (look: Look) => void] {
  const { address, set } = useStore()
  const stated = address.params['look']
  const [look, setLook] = useState<Look>(() => lookOf(stated))
  const timer = useRef<ReturnType<typeof setTimeout> | undefined>(undefined)
  const own = useRef(stated)
  const write = useRef(set)
  write.current = set
  useEffect(() => {
    // Back and forward, and links.
    if (stated !== own.current) {
      own.current = stated
      setLook(stated === undefined ? FIT : lookOf(stated))
    }
  }, [stated])
  useEffect(() => () => clearTimeout(timer.current), [])
  const take = useCallback((next: Look) => {
    setLook(next)
    clearTimeout(timer.current)
    timer.current = setTimeout(() => {
      const text = lookText(next)
      own.current = text ?? undefined
      write.current({ look: text })
    }, 250)
  }, [])
  return [look, take]
}
