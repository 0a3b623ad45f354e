import { useEffect, useState } from 'react'

/** A number with its unit; kept when the field is left or Enter is pressed, and only if it is one. */
export function NumberField({
  label,
  value,
  unit,
  min,
  max,
  step = 'any',
  onChange,
}: {
  readonly label: string
  readonly value: number | null
  readonly unit: string
  readonly min: number
  readonly max: number
  readonly step?: number | 'any'
  onChange(value: number): void
}) {
  const stated = value === null ? '' : String(value)
  const [text, setText] = useState(stated)
  useEffect(() => setText(stated), [stated])
  const keep = () => {
    const number = Number(text)
    if (text.trim() === '' || !Number.isFinite(number) || number < min || number > max) setText(stated)
    else if (text !== stated) onChange(number)
  }
  return (
    <label className="number">
      <span>{label}</span>
      <span className="with-unit">
        <input
          type="number"
          inputMode="decimal"
          value={text}
          min={min}
          max={max}
          step={step}
          onChange={(e) => setText(e.target.value)}
          onBlur={keep}
          onKeyDown={(e) => {
            if (e.key === 'Enter') keep()
          }}
        />
        <span aria-hidden="true">{unit}</span>
      </span>
    </label>
  )
}
