import { createHash } from 'node:crypto'

const hex = (algorithm: string) => (bytes: Uint8Array) => createHash(algorithm).update(bytes).digest('hex')

/** Checksums as lower-case hex. SHA-256 names files in records; MD5 only compares pixels with published values. */
export const hashes = { md5: hex('md5'), sha256: hex('sha256') }
