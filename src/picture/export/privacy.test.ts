import { describe, expect, it } from 'vitest'
import { noFacts } from './exif-block.ts'
import { alwaysRemoved, keepGroups, keptFacts, removedNames } from './privacy.ts'

const facts = {
  exposureSeconds: 0.5,
  fNumber: 2,
  iso: 100,
  focalLengthMillimetres: 7,
  takenAtCamera: '2027-02-09T17:31:05',
  offsetMinutes: 60,
  make: 'Maker',
  model: 'Model',
  artist: 'A',
  copyright: 'C',
  caption: 'D',
}

describe('what a print may say', () => {
  it('is everything by default, nothing when nothing is kept, and else the groups named', () => {
    expect(keptFacts(facts, keepGroups)).toEqual(facts)
    expect(keptFacts(facts, [])).toEqual(noFacts)
    expect(keptFacts(facts, ['copyright', 'time'])).toEqual({
      ...noFacts,
      copyright: 'C',
      takenAtCamera: facts.takenAtCamera,
      offsetMinutes: 60,
    })
  })

  it('has every fact in just one group', () => {
    for (const name of Object.keys(facts) as (keyof typeof facts)[]) {
      const groups = keepGroups.filter((group) => keptFacts(facts, [group])[name] !== null)
      expect(groups.length, name).toBe(1)
    }
  })

  it('never has what would tell where, how high, how fast, at what angle, or whose it is', () => {
    for (const name of ['gps-position', 'height', 'attitude', 'speed', 'serial-numbers', 'owner-name', 'maker-note'])
      expect(removedNames(keepGroups)).toContain(name)
    expect(removedNames(['author'])).toEqual([...alwaysRemoved, 'copyright', 'caption', 'exposure', 'time', 'camera'])
  })
})
