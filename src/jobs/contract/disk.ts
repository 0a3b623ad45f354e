/** What stands under a name, the name itself looked at: a link is seen as a link and not followed. */
export interface Looked {
  readonly kind: 'file' | 'folder' | 'link' | 'other'
  readonly bytes: number
  readonly modifiedMilliseconds: number
}

/** A file open for reading from its start to its end, and for nothing else. */
export interface SourceFile {
  /** The file as it is at this moment. */
  look(): Promise<Looked>
  /** Fills `into` as far as the file reaches; less than asked is the end. */
  read(into: Uint8Array): Promise<number>
  /** Whether what was read came from the disk itself and not from the system's memory of it. */
  aroundMemory(): boolean
  close(): Promise<void>
}

/** A new file on its way. */
export interface CopyFile {
  append(part: Uint8Array | string): Promise<void>
  /** Gives it the time of the original, if one is given, and returns when the disk says that it has it all; closes it. */
  finish(modifiedMilliseconds: number | null): Promise<void>
  /** Closes and removes it. Never fails. */
  discard(): Promise<void>
}

/** The right to copy into a folder, held by one run at a time. */
export interface Claim {
  /** A path for an unfinished file, on the disk of the folder. */
  unfinished(): string
  /** Ends the claim and removes whatever is unfinished. Never fails. */
  release(): Promise<void>
}

/** SHA-256 over parts (FIPS 180-4). */
export interface Sum {
  update(bytes: Uint8Array): void
  /** Lower-case hex; ends the sum. */
  hex(): string
}

/** The folder that holds unfinished copies while a copy runs; nothing in it is anybody's picture. */
export const COPYING_FOLDER = '.duskwork-copying'

/** Files as a verified copy needs them: streams, syncs, free space. Failures are of kind io with the path. */
export interface Disk {
  /** Null where there is nothing. */
  look(path: string): Promise<Looked | null>
  /** Names in a folder, in order. */
  names(folder: string): Promise<string[]>
  /** A regular file; links, pipes and devices are refused. Where the system allows, not even its time of access changes. */
  openSource(path: string): Promise<SourceFile>
  /** The same, around the system's memory of the disk where the system allows that. `buffer()` memory is required. */
  openBack(path: string): Promise<SourceFile>
  /** @throws Failure io when the name is taken */
  create(path: string): Promise<CopyFile>
  /** Renames within one disk and makes the new name durable. The caller has seen that the name is free. */
  move(from: string, to: string): Promise<void>
  /** Makes durable what a folder lists; best effort, some systems cannot. */
  syncFolder(folder: string): Promise<void>
  /** Removes a folder if it is empty; says whether it did. Never fails. */
  removeEmpty(folder: string): Promise<boolean>
  /** Bytes that may still be written where `path` is or will be; null where the system does not say. */
  freeBytes(path: string): Promise<number | null>
  /** Whether `path`, there or not yet there, is `folder` or lies below it, by whatever name or link it is reached. */
  holds(folder: string, path: string): Promise<boolean>
  /** Whether both lie, or will lie, on one disk as the system counts disks. */
  sameDisk(a: string, b: string): Promise<boolean>
  /** @throws Failure io "copy-running" while another run holds it */
  claim(folder: string): Promise<Claim>
  /** Memory to read into. */
  buffer(bytes: number): Uint8Array
  sum(): Sum
}
