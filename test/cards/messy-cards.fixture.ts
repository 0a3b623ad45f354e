import { type CameraHabits, type MessyCard, orderNames, orders, Photographer } from './photographer.fixture.ts'

type Recipe = (p: Photographer) => void

const anyOrder = (p: Photographer, n: number) => orders[p.pick(orderNames)](n)
const times = (n: number, work: (i: number) => void) => Array.from({ length: n }, (_, i) => work(i))
/** To the next composition. */
const move = (p: Photographer) => p.turn(p.pick([-1, 1]) * p.between(15, 120))

/** Sets the camera's clock; no time passes. */
function setClock(p: Photographer, seconds: number): number {
  p.clockSeconds += seconds
  return 0
}

/** What goes wrong, or is merely unusual, on a card; each with the habits of the camera that it needs. */
const recipes: Readonly<Record<string, readonly [Partial<CameraHabits>, Recipe]>> = {
  ...Object.fromEntries(
    [3, 4, 5, 6, 7, 8, 9].map((n): [string, [Partial<CameraHabits>, Recipe]] => [
      `brackets of ${n}`,
      [
        n > 6 ? { stepStops: 2 / 3 } : {},
        (p) => {
          const order = anyOrder(p, n)
          times(6, () => move(p).bracket(order))
        },
      ],
    ]),
  ),
  'pairs, the camera standing still': [
    { attitude: true, stepStops: 2 },
    (p) => times(6, () => move(p).bracket([0, -1], { pause: 15 })),
  ],
  'every pattern in turn': [
    { attitude: true },
    (p) => times(8, (i) => move(p).bracket(anyOrder(p, [3, 5, 7, 9][i % 4]!))),
  ],
  'falling brackets back to back': [{}, (p) => times(6, () => p.bracket(orders.falling(5), { pause: 0.3 }))],
  'one composition again and again, middle first, no pause': [
    {},
    (p) => times(8, () => p.bracket(orders.middleFirst(5), { pause: 0.2 })),
  ],
  'one composition again and again, rising, no pause': [
    {},
    (p) => times(7, () => p.bracket(orders.rising(3), { pause: 0.2 })),
  ],
  'cut short and begun again': [
    {},
    (p) => {
      const order = anyOrder(p, 5)
      times(6, (i) => {
        move(p).bracket(order)
        if (i % 3 === 1)
          move(p)
            .bracket(order, { abortAfter: 3 })
            .bracket(order, { pause: p.between(2, 5) })
      })
    },
  ],
  'cut short after one frame and begun again': [
    {},
    (p) => {
      const order = orders.middleFirst(5)
      times(5, (i) => {
        if (i % 2 === 1)
          move(p)
            .bracket(order, { abortAfter: 1 })
            .bracket(order, { pause: p.between(3, 6) })
        else move(p).bracket(order)
      })
    },
  ],
  'cut short after two frames': [
    {},
    (p) => {
      const order = orders.middleFirst(5)
      times(6, (i) => {
        move(p).bracket(order)
        if (i === 2) p.bracket(order, { abortAfter: 2, pause: 5 }).wait(20)
      })
    },
  ],
  'ISO changed inside brackets': [
    {},
    (p) => {
      const order = orders.rising(5)
      times(6, (i) => move(p).bracket(order, i % 2 ? { isoFrom: [p.whole(2, 4), 200] } : {}))
    },
  ],
  'ISO changed between brackets': [
    {},
    (p) =>
      times(6, (i) => {
        p.iso = [100, 200, 400][i % 3]!
        move(p).bracket(orders.middleFirst(5))
      }),
  ],
  'automatic exposure drifts between brackets': [
    {},
    (p) => {
      const order = anyOrder(p, 5)
      times(8, () => {
        p.drift += p.whole(-2, 3) / 3
        move(p).bracket(order)
      })
    },
  ],
  'light falling from bracket to bracket': [
    {},
    (p) =>
      times(8, () => {
        p.drift += 1 / 3
        p.bracket(orders.middleFirst(3), { pause: p.between(8, 30) })
      }),
  ],
  'single shots between brackets': [
    {},
    (p) => {
      const order = anyOrder(p, 5)
      times(6, () => {
        move(p).bracket(order)
        times(p.whole(0, 3), () => {
          p.drift += p.whole(-1, 1) / 3
          move(p).single()
        })
      })
    },
  ],
  'single shots of the same view between brackets': [
    {},
    (p) => times(5, () => p.bracket(orders.middleFirst(5), { pause: 8 }).single(0, 8)),
  ],
  'panorama of brackets': [
    { attitude: true },
    (p) => times(10, () => p.turn(28).bracket(orders.middleFirst(5), { pause: p.between(2, 4) })),
  ],
  'panorama of brackets, directions not in the files': [
    { attitude: false },
    (p) => times(10, () => p.turn(28).bracket(orders.middleFirst(3), { pause: p.between(2, 4) })),
  ],
  'panorama of single frames, exposure fixed': [
    {},
    (p) => {
      times(3, () => move(p).bracket(orders.middleFirst(5)))
      times(26, () => p.turn(15).single(0, p.between(1.5, 3)))
      times(3, () => move(p).bracket(orders.middleFirst(5)))
    },
  ],
  'panorama of single frames, exposure automatic': [
    { attitude: true },
    (p) => {
      times(3, () => move(p).bracket(orders.middleFirst(5)))
      times(26, () => {
        p.drift = p.whole(-3, 3) / 3
        p.turn(15).single(0, p.between(1.5, 3))
      })
      p.drift = 0
      times(2, () => move(p).bracket(orders.middleFirst(5)))
    },
  ],
  'timed series, exposure fixed': [
    {},
    (p) => {
      times(3, () => move(p).bracket(orders.rising(5)))
      move(p).wait(60)
      times(40, () => p.single(0, 4))
      times(3, () => move(p).bracket(orders.rising(5)))
    },
  ],
  'timed series, exposure following the dusk': [
    {},
    (p) => {
      times(4, () => move(p).bracket(orders.middleFirst(5)))
      move(p).wait(60)
      times(40, (i) => {
        p.drift = Math.floor(i / 4) / 3
        p.single(0, 6)
      })
      p.drift = 0
    },
  ],
  'timed series of brackets': [{}, (p) => times(12, () => p.bracket(orders.middleFirst(3), { pause: 12 }))],
  'two picture sizes': [
    {},
    (p) => {
      const order = orders.middleFirst(5)
      times(4, () => {
        p.width = 4032
        move(p).bracket(order)
        p.width = 8064
        p.bracket(order, { pause: p.between(2, 6) })
        if (p.chance(0.5)) p.single(0, 3)
      })
    },
  ],
  'raw with companions, and side files': [
    { files: 'raw+jpeg' },
    (p) => {
      times(6, () => {
        move(p).bracket(orders.middleFirst(5))
        p.entries.push({ file: `${p.folder}${p.prefix}${p.counter}.SRT`, kind: 'other' })
      })
      p.entries.push({ file: 'DCIM/notes.txt', kind: 'other' }, { file: '.hidden', kind: 'other' })
    },
  ],
  'camera JPEGs only': [{ files: 'jpeg', attitude: false }, (p) => times(6, () => move(p).bracket(anyOrder(p, 3)))],
  'a look around by day': [
    {},
    (p) => {
      p.now -= 7 * 3600
      p.drift = -6
      times(12, () => {
        p.drift = -6 + p.whole(-3, 3) / 3
        move(p).single(0, p.between(5, 40))
      })
      p.drift = 0
      p.wait(7 * 3600)
      times(5, () => move(p).bracket(orders.middleFirst(7)))
    },
  ],
  'counter rolls over inside a bracket': [
    {},
    (p) => {
      p.counter = 9988
      times(5, () => move(p).bracket(orders.middleFirst(5)))
    },
  ],
  'counter rolls over into a new folder': [
    {},
    (p) => {
      p.counter = 9990
      times(6, (i) => {
        if (i === 2) Object.assign(p, { folder: 'DCIM/101MOONS/', counter: 1 })
        move(p).bracket(orders.rising(5))
      })
    },
  ],
  'counter starts anew and names come twice': [
    {},
    (p) =>
      times(6, (i) => {
        if (i === 3) Object.assign(p, { folder: 'DCIM/101MOONS/', counter: 1 })
        move(p).bracket(orders.rising(5))
      }),
  ],
  'clock set forward one hour between brackets': [
    {},
    (p) =>
      times(6, (i) => {
        if (i === 3) p.clockSeconds += 3600
        move(p).bracket(orders.middleFirst(5))
      }),
  ],
  'clock set back one hour between brackets': [
    {},
    (p) =>
      times(6, (i) => {
        if (i === 3) p.clockSeconds -= 3600
        move(p).bracket(orders.middleFirst(5))
      }),
  ],
  'clock set back one hour while the brackets before it still fill the hour': [
    {},
    (p) =>
      times(12, (i) => {
        if (i === 9) p.clockSeconds -= 3600
        move(p).bracket(orders.middleFirst(5), { pause: 8 * 60 })
      }),
  ],
  'clock forgets the date': [
    {},
    (p) =>
      times(6, (i) => {
        if (i === 3) p.clockSeconds -= 7 * 365 * 86400 + 12345
        move(p).bracket(orders.middleFirst(5))
      }),
  ],
  'clock wrong by a constant': [
    { receiver: true },
    (p) => {
      p.clockSeconds = 3600 - 437
      times(6, () => move(p).bracket(orders.middleFirst(5)))
    },
  ],
  'clock steps back two seconds now and then': [
    { subSeconds: true },
    (p) =>
      times(6, (i) => {
        if (i % 2) p.clockSeconds -= 2
        move(p).bracket(orders.middleFirst(5))
      }),
  ],
  'whole-second times, shutters of a hundredth': [
    { subSeconds: false, baseSeconds: 1 / 100, writeSeconds: 0.25 },
    (p) => times(7, () => move(p).bracket(anyOrder(p, 5), { pause: p.between(2, 6) })),
  ],
  'frames without exposure facts': [
    {},
    (p) => times(6, (i) => move(p).bracket(orders.middleFirst(5), i % 3 === 1 ? { bare: [p.whole(1, 3)] } : {})),
  ],
  'singles without exposure facts': [
    {},
    (p) =>
      times(6, () => {
        move(p).bracket(orders.middleFirst(5)).wait(p.between(6, 20)).expose(0, { bare: true })
        p.wait(p.between(6, 20))
      }),
  ],
  'no times at all': [
    { attitude: false },
    (p) => {
      times(6, () => move(p).bracket(orders.middleFirst(5)))
      p.entries = p.entries.map((e) =>
        e.kind === 'other'
          ? e
          : { ...e, facts: { ...e.facts, takenAt: { utc: null, camera: null, offsetMinutes: null, subSecond: 0 } } },
      )
      p.ambiguities.push({ kind: 'order', frames: p.brackets.flat() })
    },
  ],
  'two cameras at once': [
    {},
    (p) => {
      const order = orders.middleFirst(5)
      let other = { model: 'Second', folder: 'DCIM/100OTHER/', prefix: 'MILL_', counter: 700, yaw: 50 }
      times(8, (i) => {
        move(p).bracket(order, { pause: i % 2 ? 3 : 10 })
        const { model, folder, prefix, counter, yaw } = p
        Object.assign(p, other)
        other = { model, folder, prefix, counter, yaw }
      })
    },
  ],
  'shutters of many seconds': [
    { baseSeconds: 2, stepStops: 1, writeSeconds: 1.5 },
    (p) => times(6, () => move(p).bracket(orders.middleFirst(5))),
  ],
  'shutters of many seconds with dark frames': [
    { baseSeconds: 2, stepStops: 1, darkFrames: true },
    (p) => times(6, () => move(p).bracket(orders.middleFirst(5), { pause: p.between(8, 30) })),
  ],
  'a slow card: three seconds of writing': [
    { writeSeconds: 3 },
    (p) => times(6, () => move(p).bracket(orders.middleFirst(5), { pause: p.between(8, 25) })),
  ],
  'a frame lost from the middle': [
    {},
    (p) => {
      const order = anyOrder(p, 5)
      times(6, (i) => move(p).bracket(order, i % 3 === 1 ? { lost: [p.whole(1, 3)] } : {}))
    },
  ],
  'the same files again in a subfolder': [
    {},
    (p) => {
      times(5, () => move(p).bracket(orders.middleFirst(5)))
      p.entries.push(...p.entries.slice(5, 15).map((e) => ({ ...e, file: e.file.replace('DCIM/', 'DCIM/saved/') })))
    },
  ],
  'copies beside their originals': [
    { subSeconds: true },
    (p) => {
      times(5, () => move(p).bracket(orders.middleFirst(5)))
      p.entries.push(...p.entries.slice(3, 12).map((e) => ({ ...e, file: e.file.replace('.', ' (1).') })))
    },
  ],
  'set by hand, seconds to half a minute apart': [
    { attitude: false, stepStops: 1 },
    (p) => {
      move(p).bracket(orders.rising(7), { between: () => p.between(8, 25) })
      p.ambiguities.push({ kind: 'boundary', frames: p.brackets.at(-1)! })
    },
  ],
  'bursts at one exposure': [
    {},
    (p) =>
      times(4, () => {
        move(p).bracket(orders.middleFirst(5)).wait(10)
        times(6, () => p.single(0, 0.1))
      }),
  ],
  'panorama of single frames, exposure automatic, directions not in the files': [
    { attitude: false },
    (p) => {
      times(3, () => move(p).bracket(orders.middleFirst(5)))
      move(p).wait(10)
      times(26, () => {
        p.drift = p.whole(-3, 3) / 3
        p.single(0, p.between(1.5, 3))
      })
      p.drift = 0
      times(2, () => move(p).bracket(orders.middleFirst(5)))
    },
  ],
  'timed series, a third of a stop at a time': [
    {},
    (p) => {
      times(3, () => move(p).bracket(orders.rising(5)))
      move(p).wait(30)
      times(30, () => {
        p.drift += 1 / 3
        p.single(0, p.between(2.9, 3.1))
      })
      p.drift = 0
      times(2, () => move(p).bracket(orders.rising(5)))
    },
  ],
  'single shots only, exposure wandering, directions not in the files': [
    { attitude: false },
    (p) => {
      times(2, () => move(p).bracket(orders.middleFirst(5)))
      times(40, () => {
        p.drift = p.pick([-1, -2 / 3, -1 / 3, 0, 0, 1 / 3, 2 / 3, 1])
        p.single(0, p.between(4, 30))
      })
      p.drift = 0
      times(2, () => move(p).bracket(orders.middleFirst(5)))
    },
  ],
  'two brackets of one view whose exposures would make one ladder': [
    {},
    (p) =>
      times(4, (i) => {
        p.drift = 0
        move(p).bracket(orders.rising(3))
        p.drift = 3 * p.habits.stepStops
        p.bracket(orders.rising(3), { pause: p.between(4, 8) })
        if (i % 2) {
          p.drift = 0
          move(p).single()
        }
      }),
  ],
  'clock set back by seconds between hasty brackets': [
    { subSeconds: true },
    (p) =>
      times(8, (i) => {
        if (i === 3) p.clockSeconds -= 11
        move(p).bracket(orders.middleFirst(5), { pause: 2 })
      }),
  ],
  'clock set back one hour inside a bracket': [
    {},
    (p) =>
      times(5, (i) => {
        let k = 0
        move(p).bracket(orders.middleFirst(5), i === 2 ? { between: () => setClock(p, ++k === 2 ? -3600 : 0) } : {})
      }),
  ],
  'clock set forward one hour inside a bracket': [
    {},
    (p) =>
      times(5, (i) => {
        let k = 0
        move(p).bracket(orders.middleFirst(5), i === 2 ? { between: () => setClock(p, ++k === 2 ? 3600 : 0) } : {})
      }),
  ],
  'receiver without a fix for a while': [
    { receiver: true },
    (p) => {
      times(6, () => move(p).bracket(orders.middleFirst(5)))
      let fix = ''
      p.entries = p.entries.map((e, i) => {
        if (e.kind === 'other' || i < 6 || i > 16) return e
        fix ||= e.facts.receiverUtc!
        return { ...e, facts: { ...e.facts, receiverUtc: fix } }
      })
    },
  ],
  'everything in one evening': [
    {},
    (p) => {
      const order = orders.middleFirst(5)
      p.counter = 9970
      times(4, () => move(p).single(-3))
      times(3, () => move(p).bracket(order))
      move(p).bracket(order, { abortAfter: 3 }).bracket(order, { pause: 4 })
      p.clockSeconds += 3600
      times(2, () => p.turn(30).bracket(order, { pause: 3 }))
      p.width = 8064
      times(2, () => move(p).bracket(order))
      p.width = 4032
      move(p).bracket(order, { isoFrom: [3, 200] })
      move(p).bracket(order, { lost: [2] })
      times(5, () => move(p).single())
    },
  ],
}

/** The scripted cards: every recipe with two cameras of different habits. */
export const scriptedCards = (): MessyCard[] =>
  Object.entries(recipes).flatMap(([name, recipe], i) => [1, 2].map((k) => made(name, recipe, 1000 * k + i)))

function made(name: string, [habits, recipe]: readonly [Partial<CameraHabits>, Recipe], seed: number): MessyCard {
  const p = new Photographer(seed, habits)
  recipe(p)
  return p.card(`${name} [${seed}]`)
}

/** A card of thirty events drawn at random, by any camera with any habits. */
export function mixedCard(seed: number): MessyCard {
  const p = new Photographer(seed, {})
  const usual = anyOrder(p, p.pick([3, 5, 5, 7]))
  p.counter = p.pick([1, 9950, 420])
  times(30, () => {
    const what = p.random.uniform()
    if (p.chance(0.7)) move(p)
    if (p.chance(0.1)) p.width = p.pick([4032, 8064])
    if (p.chance(0.1)) p.iso = p.pick([100, 200, 400])
    if (p.chance(0.2)) p.drift = p.whole(-3, 3) / 3
    if (p.chance(0.02)) p.clockSeconds += p.pick([-3600, 3600])
    if (what < 0.6) p.bracket(usual, { pause: p.between(2, 12) })
    else if (what < 0.64) p.bracket(anyOrder(p, 3), { pause: p.between(3, 12) })
    else if (what < 0.68) p.bracket(usual, { abortAfter: p.whole(1, usual.length - 1) }).wait(p.between(2, 6))
    else if (what < 0.71) p.bracket(usual, { lost: [p.whole(1, usual.length - 2)] })
    else if (what < 0.73) p.bracket(usual, { isoFrom: [1, p.iso * 2] })
    else times(p.whole(1, 4), () => (p.chance(0.5) ? move(p) : p).single(p.whole(-1, 1) / 3, p.between(2.5, 15)))
  })
  return p.card(`mixed [${seed}]`)
}

/** Cards of the same recipes with any cameras. */
export const drawnCards = (count: number, seed: number): MessyCard[] => {
  const list = Object.entries(recipes)
  return Array.from({ length: count }, (_, i) => made(...list[i % list.length]!, seed + 7919 * i))
}
