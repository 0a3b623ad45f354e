/** A rule that is cited on the card: quoted in short, never applied. Whoever flies finds out what holds at the place, now. */
export interface CitedRule {
  readonly id: string
  readonly where: string
  readonly what: string
  readonly source: string
  /** The state of the text that was read, or that it is from memory. */
  readonly asOf: string
}

/**
 * Rules on flying a small unmanned aircraft in twilight and at night, as far as their text was seen. Not complete and not advice: other
 * rules hold beside them, and rules change. Check your local rules.
 */
export const citedRules: readonly CitedRule[] = [
  {
    id: 'us-night',
    where: 'USA, part 107',
    what: 'At night: a knowledge test or training completed after 6 April 2021, and a lit anti-collision light visible for at least 3 statute miles (4.8 km) with a flash rate sufficient to avoid a collision. It may be dimmed for safety, not put out.',
    source: '14 CFR 107.29 (a)',
    asOf: 'text as amended 2021, from a copy made in 2024',
  },
  {
    id: 'us-twilight',
    where: 'USA, part 107',
    what: 'In civil twilight: the same anti-collision light. There civil twilight is the 30 minutes after official sunset and before official sunrise; in Alaska, that of the Air Almanac.',
    source: '14 CFR 107.29 (b), (c)',
    asOf: 'text as amended 2021, from a copy made in 2024',
  },
  {
    id: 'us-height',
    where: 'USA, part 107',
    what: 'No higher than 400 feet (122 m) above ground, or within 400 feet of a structure above its top.',
    source: '14 CFR 107.51 (b)',
    asOf: 'from memory',
  },
  {
    id: 'eu-light',
    where: 'European Union, open category',
    what: 'At night: a green flashing light, lit. Applies from 1 July 2022.',
    source: 'Regulation (EU) 2019/947, annex, UAS.OPEN.060 (2)(g); date by Regulation (EU) 2022/425, article 1 (3)',
    asOf: 'date: text of 14 March 2022; content from memory',
  },
  {
    id: 'eu-height',
    where: 'European Union, open category',
    what: 'Within 120 m of the closest point of the surface of the earth; zones of a member state may set less.',
    source: 'Regulation (EU) 2019/947, annex, UAS.OPEN.010 (2)',
    asOf: 'text as amended by Regulation (EU) 2020/639',
  },
  {
    id: 'eu-sight',
    where: 'European Union, open category',
    what: 'Keep the aircraft in sight of your own eyes, and clear of assemblies of people.',
    source: 'Regulation (EU) 2019/947, article 4 and annex, UAS.OPEN.060 (2)',
    asOf: 'from memory',
  },
]
