import { type KeyboardEvent, type PointerEvent, useRef } from 'react'
import { figure } from '#apps/report'
import type { DeskState } from '#jobs/contract'
import { type LadderRung, type RungName, withRung } from './ladder.ts'
import { ev } from './words.ts'

const WIDTH = 400
const HEIGHT = 600
const PLOT = { top: 60, bottom: 576, axis: 128, paper: 268 }

export interface LadderProps {
  readonly desk: DeskState
  readonly rungs: readonly LadderRung[]
  /** `settled` once the hand lets go, or at every key. */
  onMove(rungs: LadderRung[], settled: boolean, startedAt: number): void
}

/** Scene stops with the picture's own histogram on the one side, print zones on the other, rungs between. */
export function LadderDrawing({ desk, rungs, onMove }: LadderProps) {
  const svg = useRef<SVGSVGElement>(null)
  const held = useRef<{ index: number; end: 'scene' | 'print'; from: readonly LadderRung[] } | null>(null)
  const low = Math.floor(Math.min(rungs[0]!.sceneStops, desk.noiseFloorStops ?? 0) - 1)
  const high = Math.ceil(rungs.at(-1)!.sceneStops + 1)
  const sceneY = (stops: number) => PLOT.bottom - ((stops - low) / (high - low)) * (PLOT.bottom - PLOT.top)
  const zoneY = (zone: number) => PLOT.bottom - (zone / 10) * (PLOT.bottom - PLOT.top)
  const stopsAt = (y: number) => low + ((PLOT.bottom - y) / (PLOT.bottom - PLOT.top)) * (high - low)
  const zoneAt = (y: number) => ((PLOT.bottom - y) / (PLOT.bottom - PLOT.top)) * 10

  const drag = (event: PointerEvent, settled: boolean) => {
    const hold = held.current
    const box = svg.current?.getBoundingClientRect()
    if (!hold || !box) return
    const y = ((event.clientY - box.top) / box.height) * HEIGHT
    const to = hold.end === 'scene' ? { sceneStops: stopsAt(y) } : { zone: zoneAt(y) }
    onMove(withRung(hold.from, hold.index, to), settled, event.timeStamp)
    if (settled) held.current = null
  }
  const onKey = (index: number, end: 'scene' | 'print') => (event: KeyboardEvent) => {
    const steps: Record<string, number> = {
      ArrowUp: 0.1,
      ArrowRight: 0.1,
      ArrowDown: -0.1,
      ArrowLeft: -0.1,
      PageUp: 0.5,
      PageDown: -0.5,
    }
    const step = steps[event.key]
    if (step === undefined) return
    event.preventDefault()
    const rung = rungs[index]!
    const to = end === 'scene' ? { sceneStops: rung.sceneStops + step } : { zone: rung.zone + step }
    onMove(withRung(rungs, index, to), true, event.timeStamp)
  }
  const end = (index: number, of: 'scene' | 'print') => {
    const rung = rungs[index]!
    const value = of === 'scene' ? rung.sceneStops : rung.zone
    return {
      role: 'slider',
      tabIndex: 0,
      'aria-orientation': 'vertical' as const,
      'aria-label': of === 'scene' ? `${rung.name}: scene stop` : `${rung.name}: print zone`,
      'aria-valuemin': of === 'scene' ? low : 0,
      'aria-valuemax': of === 'scene' ? high : 10,
      'aria-valuenow': Number(value.toFixed(2)),
      'aria-valuetext': of === 'scene' ? `${figure(value, 1)} stops` : `zone ${value.toFixed(1)}`,
      onKeyDown: onKey(index, of),
      onPointerDown: (event: PointerEvent<SVGGElement>) => {
        event.currentTarget.setPointerCapture(event.pointerId)
        held.current = { index, end: of, from: rungs }
      },
      onPointerMove: (event: PointerEvent) => {
        if (held.current) drag(event, false)
      },
      onPointerUp: (event: PointerEvent) => drag(event, true),
    }
  }
  const ticks: number[] = []
  for (let s = Math.ceil(low / 2) * 2; s <= high; s += 2) ticks.push(s)
  const candela = desk.candelaPerSquareMetrePerUnit
  return (
    // biome-ignore lint/a11y/useSemanticElements: a drawing cannot be a fieldset; its sliders belong together.
    <svg ref={svg} className="ladder plot" viewBox={`0 0 ${WIDTH} ${HEIGHT}`} role="group" aria-label="Tone ladder">
      <text className="name" x={PLOT.axis} y={20} textAnchor="middle">
        scene, stops
      </text>
      {candela === null ? null : (
        <text className="tick" x={PLOT.axis} y={38} textAnchor="middle">
          0 is EV {ev(Math.log2(8 * candela))}
        </text>
      )}
      <text className="name" x={PLOT.paper + 13} y={20} textAnchor="middle">
        print, zones
      </text>
      <path className="histogram" d={histogramPath(desk, sceneY, low, high)} />
      <line className="axis" x1={PLOT.axis} x2={PLOT.axis} y1={PLOT.top} y2={PLOT.bottom} />
      {desk.noiseFloorStops === null ? null : (
        <>
          <rect
            className="noise"
            x={PLOT.axis - 7}
            width={7}
            y={sceneY(desk.noiseFloorStops)}
            height={Math.max(0, PLOT.bottom - sceneY(desk.noiseFloorStops))}
          />
          <text
            className="tick noise-name"
            x={PLOT.axis - 12}
            y={Math.min(PLOT.bottom - 2, sceneY(desk.noiseFloorStops) + 12)}
            textAnchor="end"
          >
            noise
          </text>
        </>
      )}
      <defs>
        <linearGradient id="paper" x1="0" x2="0" y1="0" y2="1">
          <stop offset="0" stopColor="#fff" />
          <stop offset=".5" stopColor="#777" />
          <stop offset="1" stopColor="#000" />
        </linearGradient>
      </defs>
      <rect x={PLOT.paper} y={PLOT.top} width={26} height={PLOT.bottom - PLOT.top} rx={6} fill="url(#paper)" />
      {rungs.map((r) => (
        <path
          key={r.name}
          className={`rung ${r.name}`}
          d={`M${PLOT.axis} ${sceneY(r.sceneStops)}C${PLOT.axis + 66} ${sceneY(r.sceneStops)} ${PLOT.paper - 66} ${zoneY(r.zone)} ${PLOT.paper} ${zoneY(r.zone)}`}
        />
      ))}
      {ticks.map((s) => (
        <text key={s} className="tick halo" x={PLOT.axis + 14} y={sceneY(s) + 4}>
          {s > 0 ? `+${s}` : s < 0 ? `−${-s}` : '0'}
        </text>
      ))}
      {rungs.map((r, i) => (
        <g key={r.name} {...end(i, 'scene')} className={`grip ${r.name}`}>
          <circle className="reach" cx={PLOT.axis} cy={sceneY(r.sceneStops)} r={15} />
          <circle className="dot" cx={PLOT.axis} cy={sceneY(r.sceneStops)} r={8} />
        </g>
      ))}
      {rungs.map((r, i) => (
        <g key={r.name} {...end(i, 'print')} className={`grip print ${r.name}`}>
          <circle className="reach" cx={PLOT.paper} cy={zoneY(r.zone)} r={16} />
          <circle className="ring" cx={PLOT.paper} cy={zoneY(r.zone)} r={10} />
        </g>
      ))}
      {namePlaces(rungs, zoneY).map(({ name, y, zone }) => (
        <text key={name} className={`name ${name}`} x={PLOT.paper + 36} y={y + 5}>
          {rungWords[name]} <tspan className="tick">{zone.toFixed(1)}</tspan>
        </text>
      ))}
    </svg>
  )
}

const rungWords: Readonly<Record<RungName, string>> = {
  black: 'black',
  ground: 'ground',
  middle: 'middle',
  lit: 'lit',
  lamps: 'lamps',
}

/** Names beside their zones, and off each other. */
function namePlaces(rungs: readonly LadderRung[], zoneY: (zone: number) => number) {
  let free = Number.POSITIVE_INFINITY
  return rungs.map((r) => {
    const y = Math.min(zoneY(r.zone), free)
    free = y - 18
    return { name: r.name, zone: r.zone, y }
  })
}

/** Areas by their square root: a night's few lamps would not be seen beside its ground. */
function histogramPath({ histogram }: DeskState, y: (stops: number) => number, low: number, high: number): string {
  const { fromStops, binStops, shares } = histogram
  const most = Math.sqrt(Math.max(...shares, 1e-9))
  const points = shares
    .map((share, i) => ({ stops: fromStops + (i + 0.5) * binStops, wide: (100 * Math.sqrt(share)) / most }))
    .filter((p) => p.stops >= low && p.stops <= high)
  const path = points.map((p) => `${(PLOT.axis - p.wide).toFixed(1)} ${y(p.stops).toFixed(1)}`).join('L')
  return `M${PLOT.axis} ${PLOT.bottom}L${path}L${PLOT.axis} ${PLOT.top}Z`
}
