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
  'not-a-mosaic': ['it holds no colour mosaic, so its noise and sharpness are not measured', 'judge this frame by eye'],
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
  'not-png': ['the encoder’s PNG does not begin as one', 'make it again'],
  'png-chunk': ['a PNG file is cut short or damaged at byte {offset}', 'make it again'],
  'heif-box': ['an AVIF file is cut short or damaged at byte {offset}', 'make it again'],
  'heif-lacks': ['an AVIF file has no {box} where one is needed', 'make it again'],
  'gain-map-metadata': ['the numbers of a gain map cannot be read', 'make it again'],
  'name-word': ['{found} in the name means nothing; there are {known}', 'use one of these'],
  'name-empty': ['the name “{found}” leaves nothing of a file name', 'give letters or digits, or {bracket}'],
  'name-folder': ['the name “{found}” has a slash in it', 'give the folder with --out'],
  'print-over-source': [
    'the print would take the place of the file it is made from',
    'give another folder with --out, or another name with --name',
  ],
  'file-there': ['there is a file of that name already', 'give another name, or --replace'],
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
  'no-such-frame': ['there is no frame {wanted} here', 'give a frame by its file name, as the list above shows it'],
  'frame-name-unclear': ['{wanted} is the name of several frames: {found}', 'give more of the path'],
  'frame-not-in-bracket': ['{wanted} is not in bracket {bracket}; there are {found}', 'give one of these'],
  'split-before-first': [
    'bracket {bracket} already begins with {wanted}',
    'give the frame that the second part begins with',
  ],
  'split-form': ['{found} does not say where to split', 'give bracket and frame: --split 0005@FILE splits before FILE'],
  'join-too-few': ['{found} is only one part', 'give two or more: --join 0003,0004'],
  'join-differs': [
    '{first} and {other} differ in camera, picture size or kind of file and cannot be one bracket',
    'join frames of one camera, size and kind',
  ],
  'corrections-unreadable': [
    'the corrections written there cannot be read',
    'put the file right or remove it; the frames are not affected',
  ],
  'one-folder': ['a folder is merged alone', 'give one folder, or the frames of one bracket'],
  'nothing-to-print': ['there are no radiance images here', 'merge first: duskwork merge {path}'],
  'date-form': ['“{found}” is no date', 'give it as year-month-day, for example 2027-02-09'],
  'date-range': [
    'the year of {found} is outside {first} to {last}, where clocks and ephemeris can be trusted',
    'give a date in that range',
  ],
  'unknown-zone': [
    'the time zone “{found}” is not known',
    'give an IANA name, for example Europe/Prague, or leave it out',
  ],
  'outing-lacks': ['it does not state {field}, and a plan needs it', 'add it with a text editor'],
  'no-place': ['no place is given', 'give --at latitude,longitude, or coordinates in outing.json or in the site file'],
  'no-date': ['no evening is given', 'give --on year-month-day, or the date in outing.json'],
  'eye-height': ['a height of {found} m is outside 0 to 10,000', 'give the height above the ground in metres'],
  'exposure-camera': [
    'the camera’s facts do not go together: {fact} ({found})',
    'correct the camera in outing.json: the facts stand in its manual, or in its files',
  ],
  'exposure-wish': [
    'a scene or limit to expose for is none: {fact} is {found}',
    'correct the viewpoint in outing.json',
  ],
  'no-such-viewpoint': ['there is no viewpoint {wanted} here', 'choose one that outing.json names'],
  'minute-form': ['“{found}” is no moment', 'give it as an ISO 8601 time'],
  'hover-fact': ['{fact} is {found}, which no hover has', 'correct it in outing.json'],
  'outing-exists': ['there is an outing already', 'edit it, or give another folder'],
  'not-json': ['it is not JSON: {problem}', 'correct it in a text editor, or make a new one'],
  'wrong-document': ['it says it is {found}, and {expected} is wanted', 'give a document of that kind'],
  'document-field': ['its field {field} is not usable: {problem}', 'correct the field in a text editor'],
  'document-too-large': ['it has {bytes} bytes; a document of this kind has at most {limit}', 'give the right file'],
  'newer-document': [
    'it was written by a newer version of this program ({found}; this one knows {expected})',
    'use the newer version, or another folder',
  ],

  // The local page.
  'body-form': ['the request cannot be used: {field} {problem}', 'load the page again'],
  'body-too-large': ['the request is larger than {limit} bytes', 'send less at a time'],
  'too-many-requests': ['the program has more to do than it takes on at once', 'wait a moment and try again'],
  'not-allowed': [
    'the request did not come from the page that this program opened',
    'open the address that it printed',
  ],
  'no-such-page': ['there is nothing at this address', 'go back to the first screen'],
  'no-such-outing': ['there is no outing {wanted} here', 'go back to the first screen'],
  'no-such-job': ['there is no such job', 'load the page again'],
  'no-such-picture': ['there is no picture {wanted} here', 'load the page again'],
  'no-free-port': ['no free port was found ({errno})', 'give another one with --port'],
  'changed-meanwhile': [
    '{file} was changed meanwhile, in another window or by another program',
    'what it says now is shown: make the change again',
  ],
  'nothing-to-undo': ['there is nothing to undo', 'changes of an earlier start cannot be undone'],
  'no-outing-document': ['this outing has no outing.json yet', 'say where and when it is'],
  'job-waits': ['too much is waiting to be done', 'wait until some of it is done'],
  'upload-name': ['“{found}” is no name for a photograph', 'give JPEG or DNG files'],

  // A flight.
  'latitude-out-of-range': ['the latitude {latitude} is not on earth', 'give degrees from −90 (south) to 90 (north)'],
  'longitude-out-of-range': [
    'the longitude {longitude} is not on earth',
    'give degrees from −180 (west) to 180 (east)',
  ],
  'flight-fact-unusable': ['{fact} is {value}, which cannot be', 'give a number from {low} to {high}'],
  'camera-fact-unusable': ['the camera’s {fact} is {value}, which cannot be', 'give a number over 0, at most {most}'],
  'camera-contradictory': [
    'the camera contradicts itself: its pixels are {pitchAcross} µm wide and {pitchDown} µm high',
    'give sensor sides and pixels of the same camera mode',
  ],
  'too-many-viewpoints': ['{found} viewpoints are too many for one evening', 'give at most {limit}'],
}

/** Why something was not used, for reasons that are no failures; {name} stands for a fact of the entry. */
export const leftOutSayings: Readonly<Record<string, string>> = {
  'black-delta-unusable':
    'the black level’s differences by row or column do not fit the picture ({found} for {expected}) and are not applied',
  'changed-since-copied':
    'its bytes are no longer those that were copied: take it from the card or the second copy again',
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
  'print-there':
    'a file of that name with other content is there; it is left as it was: give another --name, or --replace',
  'print-name-taken': 'another print of this run has taken that name: put {bracket} into the pattern',
  'print-proof-failed': 'the written print did not read back as it should; make it again',
  'same-exposure-again': 'the same exposure as {first}, once more',
  'second-companion': 'the frame already has a JPEG companion',
  'white-unusable': 'the white level {found} does not make sense; {used} is used',
  'xmp-malformed': 'the XMP packet is damaged; heights and angles are unknown',
  'xmp-too-large': 'the XMP packet is larger than {limit}; heights and angles are unknown',

  // Viewpoints that cannot be flown, and photographs of a recon flight.
  'wind-over-airspeed': 'the wind up there is as fast as the aircraft',
  'no-way-against-wind': 'the aircraft makes no way against the wind on the way there or home',
  'colder-than-curve': 'it is colder than −20 °C, and how long a battery lasts then is not known',
  'reserve-eaten':
    'the way there and home would eat the reserve: {neededMinutes} minutes needed, {usableMinutes} usable',
  'unknown-subject': '“{subject}” is no subject of the published table; light lists them',
  'name-twice': 'another viewpoint has the same name',
  'no-viewpoints': 'outing.json names no viewpoints; add them by hand or from a recon flight with --recon',
  'too-many-views': 'one evening has room for {limit} viewpoints',
  'no-way-under-ceiling':
    '{obstacle} stands in its way home: clearing it takes {neededMetres} m, and the ceiling is {ceilingMetres} m',
  'battery-too-short': 'the pictures need {wantedMinutes} minutes and one battery leaves {hoverMinutes}',
  'window-too-short': 'it does not fit into the {windowMinutes} minutes of the evening',
  'no-battery-left': 'the {batteries} batteries do not last for it',
  'recon-height-unknown': 'it does not say how high the aircraft was',
  'recon-direction-unknown': 'it does not say where the camera looked',
  'recon-position-unknown': 'it does not say where the aircraft was',
  'recon-not-level':
    'it looks {pitch}° up or down at the top: take it level (within {level}°), or say how far off the top was',
}

/** What the field card warns of; {name} stands for a fact of the caution. They defer to local rules and to whoever flies. */
export const cautionSayings: Readonly<Record<string, string>> = {
  'cannot-return': '{viewpoint}: no way home on one battery ({why})',
  'obstacle-above-ceiling':
    '{obstacle} stands in the way home: clearing it takes {neededMetres} m, and the ceiling is {ceilingMetres} m; fly another way',
  'obstacle-too-close': '{from} to {to} passes {obstacle} with {clearanceMetres} m to spare; fly round it or higher',
  'above-ceiling': '{from} to {to} is flown at {heightMetres} m, over the ceiling of {ceilingMetres} m',
  'wind-over-limit':
    'wind of {windMetresPerSecond} m/s up there is over the aircraft’s limit of {limitMetresPerSecond} m/s',
  'gust-over-limit':
    'gusts of {gustMetresPerSecond} m/s up there are over the aircraft’s limit of {limitMetresPerSecond} m/s',
  'wind-limit-not-known': 'the aircraft’s wind limit is not known; expect {windMetresPerSecond} m/s up there',
  'gust-not-known': 'no gusts were given: look them up for the hour of the flight',
  'obstacle-place-unknown': 'it is not known where {obstacle} stands: it counts on every way',
  'no-obstacles-listed': 'no obstacles are listed: the return height knows of none',
  'no-recon': 'nobody has flown this place by daylight for the plan',
  'sensing-blind-from': 'obstacle sensors see nothing from about {time} on (below {thresholdLux} lux)',
  'sensing-blind': 'obstacle sensors see nothing for the whole flight (below {thresholdLux} lux)',
  'sensing-light-not-known': 'obstacle sensors see nothing below {thresholdLux} lux, and the light is not known',
  'cold-battery': '{temperatureCelsius} °C: warm the batteries before take-off, watch them, land early',
  'over-water': 'over water: sensors and position hold fail there, and a landing is a loss',
  'home-away-from-take-off':
    'the home point is {distanceMetres} m from take-off: that is where the aircraft comes down',
  'landing-place-unlit': 'the landing place is not lit: bring a light for it',
  'local-rules': 'check your local rules and your licence for flights in twilight and at night',
  'line-of-sight':
    'keep the aircraft in sight with your own eyes, out to {farthestMetres} m and up to {highestMetres} m',
  'anti-collision-light': 'anti-collision light on before take-off, seen working, and left on',
  'people-below': 'nobody below the aircraft, nor below its way home',
  'recon-in-daylight': 'look at wires, cranes, masts and trees by daylight on the same day',
  'eyes-to-the-dark': 'eyes need half an hour without bright light; dim the screen',
  'return-climbs-first':
    'called home, the aircraft climbs first, then flies straight: look up, and set the return height (metres: {returnHeightMetres})',
  'land-by-hand': 'sensors do not help with the landing in the dark: land by hand, people clear',
}
