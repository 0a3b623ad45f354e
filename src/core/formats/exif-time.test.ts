import { describe, expect, it } from 'vitest'
import { ascii, type Fields, rational, smallDng } from '../../../test/tiff-bytes.ts'
import { readExif } from './exif.ts'
import { readTiff } from './tiff-directory.ts'

const read = (exif: Fields, gps?: Fields, top?: Fields) =>
  readExif(readTiff(smallDng({ exif, ...(gps ? { gps } : {}), ...(top ? { top } : {}) })), [])

describe('Exif time', () => {
  it('gives UTC where the offset is known, and keeps the camera’s clock', () => {
    expect(read({ 36867: ascii('2027:02:09 17:45:30'), 36881: ascii('+05:45'), 37521: ascii('043') })).toMatchObject({
      clock: '2027-02-09T17:45:30',
      utc: '2027-02-09T12:00:30Z',
      offsetMinutes: 345,
      subSecond: 0.043,
    })
    expect(read({ 36867: ascii('2027:01:01 00:10:00'), 36880: ascii('+01:00') }).utc).toBe('2026-12-31T23:10:00Z')
  })

  it('takes the offset from the receiver where the two clocks agree to a quarter of an hour', () => {
    const gps = { 7: rational(22, 1, 15, 1, 3050, 100), 29: ascii('2027:02:09') }
    expect(read({ 36867: ascii('2027:02:10 00:15:29') }, gps)).toMatchObject({
      offsetMinutes: 120,
      utc: '2027-02-09T22:15:29Z',
    })
    expect(read({ 36867: ascii('2027:02:10 00:22:29') }, gps)).toMatchObject({ offsetMinutes: null, utc: null })
  })

  it('keeps the receiver’s own time, to the second, whether or not the two clocks agree', () => {
    const gps = { 7: rational(22, 1, 15, 1, 3050, 100), 29: ascii('2027:02:09') }
    for (const clock of ['2027:02:10 00:15:29', '2027:02:10 00:22:29', '0000:00:00 00:00:00'])
      expect(read({ 36867: ascii(clock) }, gps).receiverUtc).toBe('2027-02-09T22:15:30Z')
    expect(read({ 36867: ascii('2027:02:10 00:15:29') }).receiverUtc).toBeNull()
    expect(read({}, { ...gps, 29: ascii('2027:02:30') }).receiverUtc).toBeNull()
  })

  it('is unknown for zeros, blanks, and days that do not exist', () => {
    for (const text of [
      '0000:00:00 00:00:00',
      '    :  :     :  :  ',
      '2027:02:30 10:00:00',
      '2027:13:01 10:00:00',
      '2027:02:09 24:00:00',
      '',
    ])
      expect(read({ 36867: ascii(text) })).toMatchObject({ clock: null, utc: null, subSecond: 0 })
  })

  it('prefers the moment of exposure to the moment of writing', () => {
    expect(read({ 36867: ascii('2016:06:23 16:32:43') }, undefined, { 306: ascii('2016:06:23 19:24:38') }).clock).toBe(
      '2016-06-23T16:32:43',
    )
  })
})
