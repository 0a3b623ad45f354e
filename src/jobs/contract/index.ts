export type {
  CheckDocument,
  CheckedFrame,
  CopyDocument,
  CopyManifest,
  CorrectionsDocument,
  DemoBracket,
  DemoDocument,
  FileSettings,
  FramesDocument,
  GroupDocument,
  InspectDocument,
  InspectedFile,
  LightDocument,
  MergeDocument,
  MergedBracket,
  MergedFrameEntry,
  OutingDocument,
  PlanDocument,
  PlanViewpoint,
  PrintDocument,
  Printed,
  PrintFormat,
  PrintProof,
  PrintRecord,
  RadianceRecord,
  ReferenceFacts,
} from '#jobs/schemas'
export { type Claim, COPYING_FOLDER, type CopyFile, type Disk, type Looked, type SourceFile, type Sum } from './disk.ts'
export type {
  Codec,
  DirectoryEntry,
  Files,
  Host,
  LaidAside,
  PictureMetadata,
  Pixels8,
  Pixels16,
  Progress,
} from './host.ts'
export { neverWords } from './never.ts'
export { shutter } from './quantities.ts'
export { sentenceFor, sentenceForCaution, sentenceForLeftOut } from './sentences.ts'
export { adviceWords, flagWords, reasonWords } from './verdict-words.ts'
