export { createCodec } from './codec.ts'
export { createFiles } from './files.ts'
export { hashes } from './hashes.ts'
export { removeUnfinishedFiles } from './write.ts'
