export { type CfaColour, type CfaPattern, cfaAt, cfaName, isBayer, shiftCfa } from './cfa.ts'
export { type Orientation, orientedSize, type Region, storedPosition } from './region.ts'
