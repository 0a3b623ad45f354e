export type {
  CopyDocument,
  CopyManifest,
  DemoBracket,
  DemoDocument,
  FramesDocument,
  GroupDocument,
  InspectDocument,
  InspectedFile,
  MergeDocument,
  MergedBracket,
  MergedFrameEntry,
  PrintDocument,
  Printed,
  PrintRecord,
  RadianceRecord,
  ReferenceFacts,
} from '#jobs/schemas'
export { type Claim, COPYING_FOLDER, type CopyFile, type Disk, type Looked, type SourceFile, type Sum } from './disk.ts'
export type { Codec, DirectoryEntry, Files, Host, PictureMetadata, Pixels8, Progress } from './host.ts'
export { sentenceFor, sentenceForLeftOut } from './sentences.ts'
