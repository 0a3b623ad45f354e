/** What is the matter, and the next step; {name} stands for a fact of the failure. */
export type Saying = readonly [matter: string, next: string]

const copyAgain = 'copy the file again from the card; if it stays so, leave this frame out'
const supported = 'see the list of supported files in the README'
const useCompanion =
  'set the camera to uncompressed or losslessly compressed raw, or use the JPEG that was taken with it'

/** Sentences by failure code. Codes are a closed list in each room; this is the one place that turns them into words. */
export const sayings: Readonly<Record<string, Saying>> = {
  // The file as a whole.
  'empty-file': ['the file is empty', 'copy it again from the card'],
  'not-a-picture': ['this is neither a DNG nor a JPEG file', 'give raw files (DNG) or JPEG files'],
  'file-cut-short': ['the file is cut short: it has {fileBytes} bytes and its picture needs {wantedBytes}', copyAgain],
  'outside-file': [
    'the file points to byte {offset}, past its end at {fileBytes}: it is cut short or damaged',
    copyAgain,
  ],
  'beyond-head': ['more of the file is needed: {neededBytes} bytes', 'give the whole file'],
  'not-tiff': ['the file does not begin as a TIFF structure', copyAgain],
  'not-jpeg': ['no JPEG data where the file says it is', copyAgain],
  bigtiff: ['this is a BigTIFF file, which is not supported', supported],
  'not-dng': ['this TIFF file is not a DNG file', 'give the camera’s own raw (DNG) or JPEG file'],
  'dng-version': [
    'it asks for a reader of DNG {found}; this one goes up to {expected}',
    'convert it to an earlier DNG version',
  ],
  'no-raw-picture': ['the file holds no raw picture', 'give the camera’s own raw file, not a preview or an export'],
  'directory-empty': ['its table of contents is empty', copyAgain],
  'directory-loop': ['its table of contents runs in a circle', copyAgain],
  'too-many-entries': ['its table of contents has {found} entries; the limit is {limit}', copyAgain],
  'too-many-directories': ['it has more than {limit} tables of contents', copyAgain],
  'tag-too-large': ['tag {tag} takes {foundBytes} bytes; the limit is {limit}', copyAgain],
  'tag-type': ['tag {tag} has a type that the standard does not know ({found})', copyAgain],
  'file-too-large': ['the file is too large to be read at once', 'give a single still picture'],
  'too-many-files': ['too many files at once', 'give fewer files, or a folder at a time'],

  // What one sample is.
  'picture-size': ['its picture is {width} by {height} pixels', copyAgain],
  'picture-too-large': [
    'its picture is {width} by {height} pixels; the limits are {limitSide} a side and {limitPixels} in all',
    'use a smaller picture',
  ],
  'tile-too-large': [
    'its tiles are {width} by {height} pixels; the limits are {limitSide} a side and {limitPixels} in all',
    copyAgain,
  ],
  compression: ['its raw data is compressed in a way that is not supported: {name}', useCompanion],
  'lossy-jpeg': ['its raw data is lossy JPEG ({marker}, {precision} bits), which is not supported', useCompanion],
  predictor: ['its compression uses predictor {found}, which is not supported', supported],
  'float-samples': [
    'its samples are floating-point numbers, which are not supported',
    'give the camera’s own raw file',
  ],
  'sample-kind': ['its samples are of kind {found}; only unsigned whole numbers are supported', supported],
  'bits-per-sample': ['its samples have {found} bits; {expected} are supported', supported],
  'bits-differ': ['its planes have different numbers of bits ({found})', supported],
  'samples-per-pixel': ['it has {found} samples a pixel; a mosaic has 1, a linear picture 1 or 3', supported],
  'cfa-pattern': ['its colour filters are not a 2 by 2 Bayer pattern ({rows} by {columns}: {found})', supported],
  'cfa-pattern-absent': ['it does not say how its colour filters are laid out', copyAgain],
  'cfa-colours': ['its colour filters are not red, green and blue ({found})', supported],
  'cfa-layout': ['its colour filters are staggered (layout {found}), which is not supported', supported],
  'planar-configuration': [
    'its planes are stored one after another (planar configuration {found}), which is not supported',
    supported,
  ],
  'fill-order': ['its bits are stored in reverse (fill order {found}), which is not supported', supported],
  'interleaved-samples': ['its rows or columns are interleaved ({found}), which is not supported', supported],

  // Where the samples lie and what they mean.
  'strip-size': ['its strips have {found} rows', copyAgain],
  'tile-size': ['its tiles are {width} by {height} pixels', copyAgain],
  'segment-count': ['it should have {expected} strips or tiles and lists {found}', copyAgain],
  'segment-short': ['part {segment} has {foundBytes} bytes and needs at least {wantedBytes}', copyAgain],
  'segment-outside-picture': ['part {segment} lies outside the picture', copyAgain],
  'segment-outside-file': ['part {segment} ends past the end of the file', copyAgain],
  'segments-incomplete': ['its parts cover {foundPixels} of {wantedPixels} pixels', copyAgain],
  'segments-overlap': ['two of its parts cover the same pixels', copyAgain],
  'raw-bits': ['its samples have {bitsPerSample} bits, which is not supported', supported],
  'raw-predictor': [
    'its compression uses predictor {predictor} with {bitsPerSample} bits, which is not supported',
    supported,
  ],
  'mosaic-size': ['the picture is too small to be demosaiced', 'use a larger picture'],
  'mosaic-width': ['the picture is too wide to be demosaiced ({width} pixels)', 'use a smaller picture'],
  'too-many-segments': ['it has more than {limit} parts', copyAgain],
  'active-area': ['its active area ({found}) lies outside the picture', copyAgain],
  'black-repeat': ['its black level repeats every {rows} rows and {columns} columns', copyAgain],
  'black-count': ['it should have {expected} black levels and has {found}', copyAgain],
  'black-level': ['its black level cannot be read ({found})', copyAgain],
  'white-below-black': ['its white level {white} is not above its black level {black}', copyAgain],
  'linearisation-too-long': ['its linearisation table has {found} entries; the limit is {limit}', copyAgain],
  'opcode-list': ['its opcode list {list} is cut short or damaged', copyAgain],
  'opcode-data': ['opcode {id} ({name}) of its list {list} is damaged', copyAgain],
  'opcode-unknown': ['it requires opcode {id} (list {list}), which is not supported', supported],
  'too-many-opcodes': ['its opcode list {list} has {found} entries; the limit is {limit}', copyAgain],

  // JPEG files and streams; the rest of the family is in sentences.ts.
  'jpeg-process': ['its JPEG process ({marker}) is not supported', supported],
  'jpeg-precision': ['its JPEG data has {found} bits a sample, which is not supported', supported],
  'jpeg-components': ['its JPEG data has {found} components, which is not supported', supported],
  'jpeg-height-later': ['its JPEG data states its height only at the end, which is not supported', supported],
  'exif-too-large': [
    'the Exif block is too large for a JPEG segment',
    'remove what is large in it, such as a maker’s note',
  ],
  'icc-too-large': ['the colour profile is too large for a JPEG file', 'use a smaller profile'],
  'xmp-malformed': ['its XMP packet is damaged', 'nothing else is lost by it'],
  'xmp-too-large': ['its XMP packet is larger than {limit}', 'nothing else is lost by it'],

  'picture-samples': ['the picture has {found} samples where {expected} are expected', copyAgain],
  'not-a-raw-file': ['this is not a raw file', 'give the DNG files of the bracket'],
  'no-usable-frame': ['no frame of the bracket can be used', 'see what was left out, and why; copy the frames again'],
  'exr-magic': ['this is not an OpenEXR file', 'give a radiance.exr; of raw files, merge makes one'],
  'exr-too-short': ['the OpenEXR file is cut short', 'merge the bracket again'],
  'exr-channels': ['the OpenEXR file has no channels R, G and B ({found})', 'give the radiance.exr of a merge'],
  'radiance-empty': ['the radiance image is {width} by {height} pixels', 'merge the bracket again'],
  'radiance-primaries': ['the radiance image does not use linear sRGB primaries', 'merge the bracket again'],
  'picture-undecodable': ['the picture cannot be decoded: {message}', copyAgain],
  'picture-not-encodable': ['the picture cannot be encoded: {message}', 'merge the bracket again and print it again'],
  'picture-unreadable': ['the written picture cannot be read back: {message}', 'make it again'],
  'picture-channels': ['the picture has a number of channels that is not supported', 'use a grey or RGB picture'],

  // Memory, disk and command.
  stopped: ['stopped before the end', 'what is on disk is whole: run the same command again to go on'],
  'command-line': ['{reason}', 'add --help to see what is possible'],
  'out-of-memory': [
    'the memory laid out for the job is used up ({wantedBytes} bytes wanted, {leftBytes} left)',
    'use fewer frames or smaller ones',
  ],
  'memory-over-4-gib': [
    'the job needs {wantedBytes} bytes of memory; 4 GiB is the most',
    'use fewer frames or smaller ones',
  ],
  'picture-too-small': ['it is only {width} × {height} pixels', 'use a picture of at least {limit} pixels a side'],
  'tile-over-scratch': ['one strip or tile is too large for a worker’s memory', 'use a smaller picture'],
  'not-found': ['there is no such file or folder', 'check the path'],
  'no-permission': ['permission is refused', 'check who may read and write there'],
  'read-only-disk': ['the disk is read-only', 'choose another place to write to'],
  'no-space': ['the disk is full', 'make room, or choose another disk'],
  'is-a-folder': ['this is a folder', 'give a file'],
  'not-a-file': ['this is not a file', 'give a file'],
  'not-a-folder': ['this is not a folder', 'give a folder'],
  'folder-not-empty': [
    'the folder holds other things, and nothing is written over',
    'choose a new or empty folder, or one that an earlier demonstration made',
  ],
  'make-folder-failed': ['no folder can be made there ({errno})', 'choose another place to write to'],
  'read-failed': ['it cannot be read to its end ({errno})', 'try again, with another card reader or cable'],
  'write-failed': ['it cannot be written ({errno})', 'check the disk, or choose another one'],
  'list-failed': ['the folder cannot be read ({errno})', 'try again, with another card reader or cable'],
  'disk-gone': ['the disk or card is not there any more', 'put it back in and run the same command again'],

  // Copying a card.
  'card-gone': ['the card was pulled before this file', 'put it back in and run the same command again'],
  'empty-card': ['there are no files on it', 'check that this is the card, or the folder with its files'],
  'copy-into-itself': ['it is, or lies in, {outer}', 'give a card and outings that have nothing in common'],
  'copy-running': ['another copy into it is running', 'wait until that has ended'],
  'copy-differs': [
    'what was read back from {target} is not what was written',
    'run the same command again; if it stays so, do not trust that disk, its cable or its reader',
  ],
  'reads-differ': [
    'reading it twice from the card gave two different contents',
    'use another card reader or cable, and run the same command again',
  ],
  'changed-on-card': ['it was written after the copy began', 'let the camera finish and run the same command again'],
  'still-written': ['it changes while it is copied', 'let the camera finish and run the same command again'],
  'too-little-space': [
    'the copy needs {neededBytes} bytes and {freeBytes} are free',
    'make room, or choose another disk',
  ],
  'link-not-followed': ['it is a link, which is not followed', 'copy what it leads to by itself'],
  'folders-too-deep': ['its folders are more than {limit} deep', 'give a folder further down as the card'],
  'no-frames': ['there are no frames here', 'give a folder or files with DNG or JPEG pictures'],
  'no-readable-frames': [
    'not one of its {pictures} pictures can be read; of the first, {first}: {firstReason}',
    'inspect that file, or copy the card again',
  ],
  'nothing-to-merge': ['nothing to merge was named', 'give a folder, or the frames of one bracket'],
  'no-brackets': [
    'no brackets were found among its frames ({frames})',
    'a bracket is two frames or more of different exposure; frames given by name are merged as one',
  ],
  'no-such-bracket': ['there is no bracket {wanted} here; there are {found}', 'give one of these numbers'],
  'one-folder': ['a folder is merged alone', 'give one folder, or the frames of one bracket'],
  'nothing-to-print': ['there are no radiance images here', 'merge first: duskwork merge {path}'],
  'newer-document': [
    'it was written by a newer version of this program ({found}; this one knows {expected})',
    'use the newer version, or another folder',
  ],
}

/** Why something was not used, for reasons that are no failures; {name} stands for a fact of the entry. */
export const leftOutSayings: Readonly<Record<string, string>> = {
  'black-delta-unusable':
    'the black level’s differences by row or column do not fit the picture ({found} for {expected}) and are not applied',
  'copy-changed': 'it has changed since it was copied; it is kept as {setAside}, and the file is copied again',
  'copy-cut-off': 'it holds only the beginning of the file; it is kept as {setAside}, and the file is copied again',
  'empty-on-card': 'the file on the card is empty: its picture may still be rescued from the card, so keep it',
  'system-file': 'an operating system left it there',
  'colour-tag-unusable': 'a colour tag does not make sense ({found}) and is not used',
  'crop-outside-active-area': 'the default crop ({found}) lies outside the active area; the whole active area is used',
  'cut-to-picture': 'the active area ({found}) reaches past the picture and is cut to it',
  'noise-profile-unusable': 'the noise profile does not make sense ({found}) and is not used',
  'area-outside-picture': 'this correction is for an area outside the picture; it is not applied',
  'opcode-not-applied': 'this correction is not supported; it is not applied',
  'plane-not-present': 'this correction is for a colour that the picture does not have; it is not applied',
  'differs-from-reference':
    'it has {size} pixels where the bracket’s reference has {referenceSize}, or another kind of sample',
  'exposure-unknown': 'it does not say how it was exposed',
  'motion-not-found': 'its movement could not be found; it was merged as if it had not moved',
  'not-a-still': 'not a still picture',
  'not-merged': 'it was not merged',
  'rendered-beside-raw': 'a camera JPEG that belongs to none of the raw frames; raw is used',
  'orientation-unknown': 'the orientation {found} does not exist; the picture is taken as upright',
  'pixels-not-square': 'the pixels are not square ({horizontal} to {vertical}); the picture is left unscaled',
  'print-proof-failed': 'the written print did not read back as it should; make it again',
  'second-companion': 'the frame already has a JPEG companion',
  'white-unusable': 'the white level {found} does not make sense; {used} is used',
  'xmp-malformed': 'the XMP packet is damaged; heights and angles are unknown',
  'xmp-too-large': 'the XMP packet is larger than {limit}; heights and angles are unknown',
}
