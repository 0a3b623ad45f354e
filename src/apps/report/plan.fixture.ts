import type { PlanDocument, PlanViewpoint } from '#jobs/contract'

/** A plan with made-up figures, for pages alone: nothing here was computed. */
const names = ['over the weir', 'mill from the lock', 'lower bridge', 'market square', 'tow path', 'old quay']

const local = (minutes: number) => {
  const at = 17 * 60 + minutes
  return `2027-02-09T${String(Math.floor(at / 60)).padStart(2, '0')}:${String(at % 60).padStart(2, '0')}:00+01:00`
}
const utc = (minutes: number) => new Date(Date.parse(local(minutes))).toISOString().replace('.000Z', 'Z')

function viewpoint(i: number, set: 'dusk' | 'dark'): PlanViewpoint {
  const minute = (set === 'dusk' ? 20 : 70) + 4 * i
  const settings = { fNumber: 1.8, iso: 100, shutterSeconds: 1 / 3, ev100: 2.5 }
  return {
    name: names[i % names.length]! + (i >= names.length ? ` ${i}` : ''),
    set,
    arriveUtc: utc(minute),
    arriveLocal: local(minute),
    leaveByUtc: utc(minute + 9),
    leaveByLocal: local(minute + 9),
    never: null,
    minutes: 3,
    battery: 1 + (i >> 2),
    batteryMinutes: 9.5,
    leaveWithPercent: 34.2,
    heightMetres: 40 + 5 * i,
    headingDegrees: 30 * i,
    tiltDegrees: -15,
    eastMetres: 60 * Math.sin(i),
    northMetres: 80 + 60 * i,
    subject: 'floodlit',
    subjectEv100: 4,
    balanceLocal: set === 'dusk' ? local(31) : null,
    settings,
    bracket: {
      frames: 5,
      stepStops: 1,
      shuttersSeconds: [1 / 15, 1 / 8, 1 / 4, 1 / 2, 1],
      brackets: 1,
      totalSeconds: 4.9,
    },
    hoverLimitSeconds: 0.9,
    predictedSnr: 40,
    predictedSnrSingle: 16,
    keepOdds: 0.6,
    keepBasis: 'default',
    repeats: 4,
    skyEv100: 4.2,
    groundEv100: 1.5,
    cardBytes: 5 * 30e6,
    remarks: [{ code: 'centred-down', words: 'Centred one stop down: the longest frame would smear.' }],
    framing: {
      fieldDegrees: { horizontal: 71, vertical: 56 },
      subjectMetres: 180,
      pixelsPerMetre: 16,
      widthMetres: 240,
      sun: '40° right of the frame',
      moon: 'below the horizon',
      footprint: [
        null,
        null,
        { eastMetres: 60 * Math.sin(i) + 40, northMetres: 130 + 60 * i },
        { eastMetres: 60 * Math.sin(i) - 40, northMetres: 130 + 60 * i },
      ],
    },
    wayHome: {
      metres: 120 + 60 * i,
      seconds: 30 + 8 * i,
      obstacles: [
        { name: 'mill chimney', alongMetres: 60, heightMetres: 31, clearMetres: 20 },
        { name: 'poplars', alongMetres: 75, heightMetres: 14, clearMetres: 37 },
      ],
    },
    tenMinutesLate: { settings: { ...settings, shutterSeconds: 1, iso: 200 }, stopsDarker: 2.4, remarks: [] },
  }
}

export function planOf(dusk: number, dark: number, leftOut = 0): PlanDocument {
  const viewpoints = [
    ...Array.from({ length: dusk }, (_, i) => viewpoint(i, 'dusk')),
    ...Array.from({ length: dark }, (_, i) => viewpoint(i, 'dark')),
  ]
  const at = (name: string, minutes: number) => ({
    name,
    utc: utc(minutes),
    local: local(minutes),
    never: null,
    sunAltitude: -0.8,
  })
  return {
    schema: 'plan/1',
    outing: 'weir',
    title: 'Weir and mill',
    date: '2027-02-09',
    place: { latitude: 50, longitude: 15, timeZone: 'Europe/Prague' },
    siteName: 'a river town',
    home: { latitude: 50, longitude: 15 },
    events: [
      at('sunset', 8),
      at('civil-dusk', 41),
      at('civil-dusk-30min', 38),
      { name: 'moonset', utc: null, local: null, never: 'the moon stays below the horizon', sunAltitude: null },
    ],
    balance: [
      {
        subject: 'floodlit',
        words: 'floodlit walls',
        subjectEv100: 4,
        utc: utc(31),
        local: local(31),
        never: null,
        sunAltitude: -5.2,
        minutesPerStop: 3.6,
      },
    ],
    strip: Array.from({ length: 120 }, (_, m) => ({
      utc: utc(m - 20),
      local: local(m - 20),
      skyEv100: Math.max(-2, 12 - 0.14 * m - 0.0006 * m * m),
      groundEv100: Math.max(-5, 9 - 0.14 * m - 0.0006 * m * m),
      lux: 2,
    })),
    upByLocal: local(18),
    homeByLocal: local(60),
    sensing: { lux: 10, utc: utc(29), local: local(29), never: null },
    moon: { phase: 'waxing crescent', fraction: 0.09 },
    hoverLimitEv100: 0.5,
    viewpoints,
    returnHeightMetres: 51,
    returnReason: null,
    ceilingMetres: 120,
    clearanceMetres: 20,
    windAloftMetresPerSecond: 4,
    batteries: 2,
    reservePercent: 25,
    cardBytes: viewpoints.length * 15e7,
    cautions: [
      'Keep the aircraft in sight, with its anti-collision light on.',
      'Nobody below, nobody near: look before every leg.',
      'Obstacle sensors see nothing from 17:29 on: fly only where you have been in daylight.',
      'Set the home point here, and check it on the screen before the first leg.',
      'Cold battery: warm it before take-off, and watch the voltage in the first minute.',
      'Going home it climbs first, then flies straight.',
    ],
    rules: [
      {
        where: 'USA',
        what: 'night flight asks for training and a light seen from 3 miles',
        source: '14 CFR 107.29',
        asOf: '2021',
      },
      {
        where: 'EU',
        what: 'night flight asks for a green flashing light; 120 m',
        source: 'Reg. (EU) 2019/947',
        asOf: '2024',
      },
    ],
    basis: ['Clear sky model; spread ±0.4 EV.'],
    card: 'weir/field-card.html',
    leftOut: Array.from({ length: leftOut }, (_, i) => ({
      what: `viewpoint ${i}`,
      reason: 'window-too-short',
      facts: { windowMinutes: 22 },
    })),
  }
}
