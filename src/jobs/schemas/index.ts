// The documents' schemas. Whoever needs only their types takes them from #jobs/contract: building schemas takes time at start.
export { type CheckDocument, type CheckedFrame, checkSchema } from './check.ts'
export { type CopyDocument, type CopyManifest, copyManifestSchema, copySchema } from './copy.ts'
export { type DemoBracket, type DemoDocument, demoSchema } from './demo.ts'
export {
  type CorrectionsDocument,
  correctionsSchema,
  type FramesDocument,
  framesSchema,
  type GroupDocument,
  groupSchema,
} from './group.ts'
export { type InspectDocument, type InspectedFile, inspectSchema } from './inspect.ts'
export { type LightDocument, lightSchema } from './light.ts'
export {
  type MergeDocument,
  type MergedBracket,
  type MergedFrameEntry,
  mergeSchema,
  type RadianceRecord,
  radianceRecordSchema,
} from './merge.ts'
export {
  type Aircraft,
  type CameraMode,
  type Intent,
  type OutingDocument,
  outingSchema,
  type Viewpoint,
  type Weather,
} from './outing.ts'
export {
  type ChangeRequest,
  changeRequestSchema,
  type JobRequest,
  jobRequestSchema,
  type LooksDocument,
  lookRequestSchema,
  looksSchema,
  newOutingRequestSchema,
  type WorkDocument,
  workSchema,
} from './page.ts'
export { type PlanDocument, type PlanViewpoint, planSchema } from './plan.ts'
export {
  bracketFactsSchema,
  type FileSettings,
  fileSettingsSchema,
  type PrintDocument,
  type Printed,
  type PrintFormat,
  type PrintProof,
  type PrintRecord,
  type PrintSettings,
  printRecordSchema,
  printSchema,
  type ReferenceFacts,
} from './print.ts'
export { type Site, siteFileSchema, siteSchema } from './site.ts'
