export { type DemoBracket, type DemoDocument, demoSchema } from './demo.ts'
export { type FramesDocument, framesSchema, type GroupDocument, groupSchema } from './group.ts'
export type { Codec, DirectoryEntry, Files, Host, PictureMetadata, Pixels8, Progress } from './host.ts'
export { type InspectDocument, type InspectedFile, inspectSchema } from './inspect.ts'
export {
  type MergeDocument,
  type MergedBracket,
  type MergedFrameEntry,
  mergeSchema,
  type RadianceRecord,
  radianceRecordSchema,
} from './merge.ts'
export {
  bracketFactsSchema,
  type PrintDocument,
  type Printed,
  type PrintRecord,
  printRecordSchema,
  printSchema,
  type ReferenceFacts,
} from './print.ts'
export { sentenceFor, sentenceForLeftOut } from './sentences.ts'
