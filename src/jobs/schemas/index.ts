// The documents' schemas. Whoever needs only their types takes them from #jobs/contract: building schemas takes time at start.
export { type CopyDocument, type CopyManifest, copyManifestSchema, copySchema } from './copy.ts'
export { type DemoBracket, type DemoDocument, demoSchema } from './demo.ts'
export { type FramesDocument, framesSchema, type GroupDocument, groupSchema } from './group.ts'
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
