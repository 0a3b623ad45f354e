export type { Codec, DirectoryEntry, Files, Host, PictureMetadata, Pixels8, Progress } from './host.ts'
