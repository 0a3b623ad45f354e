export { type FramesDocument, framesSchema, type GroupDocument, groupSchema } from './group.ts'
export type { Codec, DirectoryEntry, Files, Host, PictureMetadata, Pixels8, Progress } from './host.ts'
export { type InspectDocument, type InspectedFile, inspectSchema } from './inspect.ts'
export { sentenceFor, sentenceForLeftOut } from './sentences.ts'
