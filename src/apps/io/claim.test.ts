import { spawn } from 'node:child_process'
import { createHash } from 'node:crypto'
import { existsSync, mkdirSync, mkdtempSync, readdirSync, rmSync, writeFileSync } from 'node:fs'
import { hostname, tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { COPYING_FOLDER } from '#jobs/contract'
import { claimFolder } from './claim.ts'

let folder: string
let place: string
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'duskwork-claim-'))
  place = join(folder, COPYING_FOLDER)
})
afterEach(() => rmSync(folder, { recursive: true, force: true }))

const machine = createHash('sha256').update(hostname()).digest('hex').slice(0, 8)

describe('a claim on a folder', () => {
  it('goes with all that is unfinished, and leaves what is not of its making', async () => {
    const claim = await claimFolder(folder, 20)
    expect(readdirSync(place).length).toBe(1)
    expect(claim.unfinished()).not.toBe(claim.unfinished())
    await claim.release()
    await claim.release()
    expect(existsSync(place)).toBe(false)
  })

  it('is refused while another runs, and given once that has ended', async () => {
    const first = await claimFolder(folder, 20)
    await expect(claimFolder(folder, 20)).rejects.toMatchObject({ kind: 'io', code: 'copy-running' })
    await first.release()
    await (await claimFolder(folder, 20)).release()
  })

  it('goes to one of many who ask at the same moment, every time', async () => {
    for (let round = 0; round < 5; round++) {
      const claims = await Promise.allSettled(Array.from({ length: 6 }, () => claimFolder(folder, 20)))
      const given = claims.filter((c) => c.status === 'fulfilled')
      expect(given.length).toBe(1)
      for (const c of claims) if (c.status === 'rejected') expect(c.reason).toMatchObject({ code: 'copy-running' })
      await given[0]!.value.release()
      expect(existsSync(place)).toBe(false)
    }
  })

  it('takes over at once from a process that was killed, and clears away what it left', async () => {
    const child = spawn(process.execPath, ['-e', ''])
    await new Promise((resolve) => child.on('close', resolve))
    mkdirSync(place)
    writeFileSync(join(place, `${machine}-${child.pid}-00000000.holds`), '.')
    writeFileSync(join(place, `${machine}-${child.pid}-00000001.part`), 'half a picture')
    writeFileSync(join(place, 'mine.DNG'), 'somebody put it here')
    const claim = await claimFolder(folder, 20)
    expect(readdirSync(place).sort()).toEqual([expect.stringMatching(/\.holds$/), 'mine.DNG'])
    await claim.release()
    expect(readdirSync(place)).toEqual(['mine.DNG'])
  })

  it('takes over from a silent one whose process number lives on, or whose machine is another', async () => {
    mkdirSync(place)
    writeFileSync(join(place, `${machine}-${process.pid}-00000000.holds`), '.')
    writeFileSync(join(place, `0123abcd-1-00000000.holds`), '.')
    const claim = await claimFolder(folder, 20)
    expect(readdirSync(place).length).toBe(1)
    await claim.release()
  })
})
