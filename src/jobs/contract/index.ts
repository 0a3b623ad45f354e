export { type FramesDocument, framesSchema, type GroupDocument, groupSchema } from './group.ts'
export type { Codec, DirectoryEntry, Files, Host, PictureMetadata, Pixels8, Progress } from './host.ts'
