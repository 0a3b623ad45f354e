import type { Triple } from '#core/base'

const RADIANS = Math.PI / 180
const POW25_7 = 25 ** 7

/**
 * Colour difference ΔE00 of two L*a*b* colours under the same white, kL = kC = kH = 1.
 * ISO/CIE 11664-6:2014; written after the steps of Sharma, Wu, Dalal 2005 ("The CIEDE2000 color-difference formula:
 * implementation notes, supplementary test data, and mathematical observations"), whose pairs are its test. Hues that
 * stand exactly opposite are a discontinuity of the formula: there the last bit decides.
 */
export function deltaE2000([l1, a1, b1]: Triple, [l2, a2, b2]: Triple): number {
  const meanC = (Math.hypot(a1, b1) + Math.hypot(a2, b2)) / 2
  const pow = meanC ** 7
  const stretch = 1 + 0.5 * (1 - Math.sqrt(pow / (pow + POW25_7)))
  const [p1, p2] = [a1 * stretch, a2 * stretch]
  const [c1, c2] = [Math.hypot(p1, b1), Math.hypot(p2, b2)]
  const [h1, h2] = [hue(p1, b1), hue(p2, b2)]

  const grey = c1 * c2 === 0
  let turn = grey ? 0 : h2 - h1
  if (turn > 180) turn -= 360
  else if (turn < -180) turn += 360
  const dL = l2 - l1
  const dC = c2 - c1
  const dH = 2 * Math.sqrt(c1 * c2) * Math.sin((turn / 2) * RADIANS)

  const midL = (l1 + l2) / 2
  const midC = (c1 + c2) / 2
  const midH = meanHue(h1, h2, grey)
  const t =
    1 -
    0.17 * Math.cos((midH - 30) * RADIANS) +
    0.24 * Math.cos(2 * midH * RADIANS) +
    0.32 * Math.cos((3 * midH + 6) * RADIANS) -
    0.2 * Math.cos((4 * midH - 63) * RADIANS)
  const fromFifty = (midL - 50) ** 2
  const sL = 1 + (0.015 * fromFifty) / Math.sqrt(20 + fromFifty)
  const sC = 1 + 0.045 * midC
  const sH = 1 + 0.015 * midC * t
  const midC7 = midC ** 7
  const rotation =
    -2 * Math.sqrt(midC7 / (midC7 + POW25_7)) * Math.sin(60 * RADIANS * Math.exp(-(((midH - 275) / 25) ** 2)))
  const [l, c, h] = [dL / sL, dC / sC, dH / sH]
  return Math.sqrt(l * l + c * c + h * h + rotation * c * h)
}

/** Hue angle in degrees, 0 ≤ h < 360; 0 for grey. */
function hue(a: number, b: number): number {
  if (a === 0 && b === 0) return 0
  const degrees = Math.atan2(b, a) / RADIANS
  return degrees < 0 ? degrees + 360 : degrees
}

function meanHue(h1: number, h2: number, grey: boolean): number {
  const sum = h1 + h2
  if (grey) return sum
  if (Math.abs(h1 - h2) <= 180) return sum / 2
  return sum < 360 ? (sum + 360) / 2 : (sum - 360) / 2
}
