import { cpSync, existsSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { basename, join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { createFiles } from '#apps/io'
import { group } from '#jobs'
import type { Host } from '#jobs/contract'
import { framesSchema, groupSchema } from '#jobs/schemas'
import { samples } from '../kernels.ts'

const host = (stopAfter = Number.POSITIVE_INFINITY): Host => {
  let calls = 0
  return {
    files: createFiles(),
    progress() {},
    throwIfStopped() {
      if (calls++ >= stopAfter) throw new Error('asked to stop')
    },
  } as unknown as Host
}

let folder: string
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'duskwork-group-'))
})
afterEach(() => rmSync(folder, { recursive: true, force: true }))

/** The least that says it is a JPEG of 16 × 8 pixels. */
const bareJpeg = Buffer.from('ffd8ffc0000b080008001001011100ffda0008010100003f00ffd9', 'hex')
const night = join(samples, 'bracket-night-garden')

describe('grouping a folder', () => {
  it('of loose pictures writes nothing into it and looks below it', async () => {
    mkdirSync(join(folder, 'DCIM', '100'), { recursive: true })
    writeFileSync(join(folder, 'DCIM', '100', 'A.JPG'), bareJpeg)
    const { document } = await group(host(), folder)
    expect(groupSchema.parse(document)).toMatchObject({ frames: 1, brackets: [], leftOut: [] })
    expect(readdirSync(folder)).toEqual(['DCIM'])
  })

  it('that is an outing takes the originals only and writes frames.json with paths relative to the outing', async () => {
    mkdirSync(join(folder, 'originals'))
    mkdirSync(join(folder, 'prints'))
    writeFileSync(join(folder, 'originals', 'A.JPG'), bareJpeg)
    writeFileSync(join(folder, 'prints', 'B.JPG'), bareJpeg)
    const { document } = await group(host(), folder)
    expect(document.singles.map((f) => f.file)).toEqual([join(folder, 'originals', 'A.JPG')])
    const written = framesSchema.parse(JSON.parse(readFileSync(join(folder, 'frames.json'), 'utf8')))
    expect(written.frames.map((f) => [f.file, f.bracket, f.source])).toEqual([['originals/A.JPG', null, 'rendered']])
  })

  it('of loose pictures passes by what an earlier run made there', async () => {
    writeFileSync(join(folder, 'A.JPG'), bareJpeg)
    mkdirSync(join(folder, 'brackets', '0001'), { recursive: true })
    mkdirSync(join(folder, 'prints'))
    for (const made of [
      'brackets/0001/preview.jpg',
      'brackets/0001/record.json',
      'prints/0001.jpg',
      'prints/0001.jpg.record.json',
    ])
      writeFileSync(join(folder, made), made.endsWith('.jpg') ? bareJpeg : '{}')
    const { document } = await group(host(), folder)
    expect([document.frames, document.leftOut]).toEqual([1, []])
  })

  it('refuses by name to write over a frames.json of a later version, and leaves it as it was', async () => {
    mkdirSync(join(folder, 'originals'))
    writeFileSync(join(folder, 'originals', 'A.JPG'), bareJpeg)
    writeFileSync(join(folder, 'frames.json'), '{"schema":"frames/2"}')
    await expect(group(host(), folder)).rejects.toMatchObject({
      code: 'newer-document',
      facts: { found: 'frames/2', expected: 'frames/1' },
    })
    expect(readFileSync(join(folder, 'frames.json'), 'utf8')).toBe('{"schema":"frames/2"}')
  })

  it('stops between two files when asked', async () => {
    for (const name of ['A.JPG', 'B.JPG', 'C.JPG']) writeFileSync(join(folder, name), bareJpeg)
    await expect(group(host(1), folder)).rejects.toThrow('asked to stop')
  })

  it.skipIf(!existsSync(night))(
    'of eight real JPEGs set by hand over minutes finds one bracket (sample files absent)',
    async () => {
      cpSync(night, join(folder, 'originals'), { recursive: true })
      const { document } = await group(host(), folder)
      expect(document.brackets.map((b) => b.frames.map((f) => basename(f.file)))).toEqual([
        ['05.jpg', '07.jpg', '09.jpg', '11.jpg', '10.jpg', '08.jpg', '06.jpg', '04.jpg'],
      ])
      const [bracket] = document.brackets
      console.log(`night garden: confidence ${bracket!.confidence}, ${document.doubts.length} doubts`)
      expect(basename(bracket!.reference)).toBe('08.jpg')
      expect(bracket!.confidence).toBeLessThan(0.95)
      expect(document.singles).toEqual([])
    },
  )

  it.skipIf(!existsSync(join(samples, 'drone-stills')))(
    'of two real drone photographs of one flight finds two singles and nothing to ask (sample files absent)',
    async () => {
      const { document } = await group(host(), join(samples, 'drone-stills'))
      expect(document.singles.map((f) => basename(f.file))).toEqual(['nadir_0024.jpg', 'nadir_0025.jpg'])
      expect([document.brackets, document.doubts, document.leftOut]).toEqual([[], [], []])
      expect(document.modes).toMatchObject([{ source: 'rendered', width: 4000, height: 2250, frames: 2 }])
    },
  )

  it.skipIf(!existsSync(join(samples, 'dng')))(
    'of unrelated real raw files reads every one that is supported as a single (sample files absent)',
    async () => {
      const { document } = await group(host(), join(samples, 'dng'))
      const count = document.singles.length + document.brackets.reduce((n, b) => n + b.frames.length, 0)
      expect(document.frames).toBe(count)
      expect(count + document.leftOut.length).toBe(readdirSync(join(samples, 'dng')).length)
      expect(count).toBeGreaterThanOrEqual(4)
    },
  )
})
