import { writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { run } from './outside.ts'

/** A field that somebody's camera or aircraft wrote, as the reading program names it, and what stands in it. */
export type Planted = readonly [field: string, value: string]

/**
 * Sixty fields and more that a print must not carry: where, how high, at what angle and speed, whose and which aircraft.
 * Values are words of their own where the field takes words, so that they can be looked for in the bytes.
 */
export const planted: readonly Planted[] = [
  ['GPS:GPSLatitude', '51.234567'],
  ['GPS:GPSLatitudeRef', 'N'],
  ['GPS:GPSLongitude', '7.654321'],
  ['GPS:GPSLongitudeRef', 'E'],
  ['GPS:GPSAltitude', '123.456'],
  ['GPS:GPSAltitudeRef', '0'],
  ['GPS:GPSTimeStamp', '17:31:05'],
  ['GPS:GPSDateStamp', '2027:02:09'],
  ['GPS:GPSSatellites', 'planted-sats'],
  ['GPS:GPSSpeed', '4.25'],
  ['GPS:GPSSpeedRef', 'K'],
  ['GPS:GPSTrack', '123.5'],
  ['GPS:GPSTrackRef', 'T'],
  ['GPS:GPSImgDirection', '211.5'],
  ['GPS:GPSImgDirectionRef', 'T'],
  ['GPS:GPSMapDatum', 'planted-datum'],
  ['GPS:GPSDestLatitude', '51.3'],
  ['GPS:GPSDestLongitude', '7.7'],
  ['GPS:GPSDestBearing', '12.5'],
  ['GPS:GPSDestDistance', '3.5'],
  ['GPS:GPSAreaInformation', 'planted-area'],
  ['GPS:GPSProcessingMethod', 'planted-method'],
  ['GPS:GPSHPositioningError', '1.5'],
  ['ExifIFD:OwnerName', 'planted-owner'],
  ['ExifIFD:SerialNumber', 'planted-body'],
  ['ExifIFD:LensSerialNumber', 'planted-lens-serial'],
  ['ExifIFD:LensMake', 'planted-lens-make'],
  ['ExifIFD:LensModel', 'planted-lens-model'],
  ['ExifIFD:ImageUniqueID', 'planted0unique0id'],
  ['ExifIFD:UserComment', 'planted-comment'],
  ['ExifIFD:AmbientTemperature', '3.5'],
  ['ExifIFD:Humidity', '81'],
  ['ExifIFD:Pressure', '1003'],
  ['ExifIFD:Acceleration', '12'],
  ['ExifIFD:CameraElevationAngle', '-17.5'],
  ['ExifIFD:RelatedSoundFile', 'planted-sound'],
  ['IFD0:HostComputer', 'planted-host'],
  ['IFD0:DocumentName', 'planted-document'],
  ['IFD0:PageName', 'planted-page'],
  ['IFD0:XPComment', 'planted-xpcomment'],
  ['IFD0:XPKeywords', 'planted-xpkeywords'],
  ['IFD0:CameraSerialNumber', 'planted-camera-serial'],
  ['IPTC:City', 'planted-city'],
  ['IPTC:Sub-location', 'planted-sublocation'],
  ['IPTC:Contact', 'planted-contact'],
  ['IPTC:OriginatingProgram', 'planted-program'],
]

/** The same kind of fields where aircraft put them: an XMP packet under a name space of the maker's own. */
export const plantedXmp: readonly Planted[] = [
  ['AbsoluteAltitude', '+123.45'],
  ['RelativeAltitude', '+47.11'],
  ['GimbalRollDegree', '+0.31'],
  ['GimbalYawDegree', '-131.71'],
  ['GimbalPitchDegree', '-17.91'],
  ['FlightRollDegree', '+1.51'],
  ['FlightYawDegree', '-130.61'],
  ['FlightPitchDegree', '-3.41'],
  ['FlightXSpeed', '+0.71'],
  ['FlightYSpeed', '-0.41'],
  ['FlightZSpeed', '+0.11'],
  ['GpsLatitude', '+51.2345678'],
  ['GpsLongitude', '+7.6543211'],
  ['DroneSerialNumber', 'planted-drone'],
  ['CameraSerialNumber', 'planted-xmp-camera'],
  ['SelfData', 'planted-self'],
  ['PilotName', 'planted-pilot'],
]

const packet =
  '<?xpacket begin="" id="W5M0MpCehiHzreSzNTczkc9d"?><x:xmpmeta xmlns:x="adobe:ns:meta/">' +
  '<rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#"><rdf:Description rdf:about="planted-about" ' +
  `xmlns:aircraft="http://aircraft.invalid/1.0/" ${plantedXmp.map(([n, v]) => `aircraft:${n}="${v}"`).join(' ')}/>` +
  '</rdf:RDF></x:xmpmeta><?xpacket end="w"?>'

/** What the photographer had the camera write, and wants kept. */
export const wanted = {
  artist: 'Åsa Ödegård',
  copyright: '© 2027 Åsa Ödegård',
  caption: 'The weir at dusk – from upstream',
}

/** Writes all of it into a picture file. */
export function plant(file: string, folder: string): void {
  const xmp = join(folder, 'planted.xmp')
  writeFileSync(xmp, packet)
  run('exiftool', [
    '-q',
    '-overwrite_original',
    '-m',
    ...planted.map(([field, value]) => `-${field}=${value}`),
    `-IFD0:Artist=${wanted.artist}`,
    `-IFD0:Copyright=${wanted.copyright}`,
    `-IFD0:ImageDescription=${wanted.caption}`,
    `-XMP<=${xmp}`,
    file,
  ])
}

/** Words that may stand nowhere in a print's bytes. */
export const plantedWords = [
  ...[...planted, ...plantedXmp].map(([, value]) => value).filter((value) => value.startsWith('planted')),
  ...['planted-about', 'planted-maker-note', 'planted-thumbnail', 'planted-trailer', 'planted-jpeg-comment'],
  ...['+47.11', '-131.71', '+51.2345678'],
]

/** The local names by which the reading program would list what was planted. */
export const plantedNames = [
  ...[...planted, ...plantedXmp].map(([field]) => field.replace(/^.*:/, '')),
  ...['ThumbnailImage', 'PreviewImage', 'JpgFromRaw', 'Trailer', 'Comment', 'MakerNoteUnknown', 'GPSPosition'],
]
