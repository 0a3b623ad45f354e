/** Attitude at the moment of exposure. Angles in degrees, speeds in metres a second, height above take-off in metres; null = not known. */
export interface Attitude {
  readonly relativeHeightMetres: number | null
  readonly gimbalPitch: number | null
  readonly gimbalYaw: number | null
  readonly gimbalRoll: number | null
  readonly flightYaw: number | null
  readonly flightPitch: number | null
  readonly flightRoll: number | null
  readonly speedNorth: number | null
  readonly speedEast: number | null
  readonly speedDown: number | null
}

/** The local names that cameras on aircraft commonly give these facts; the namespace is our own. */
const localNames: Readonly<Record<keyof Attitude, string>> = {
  relativeHeightMetres: 'RelativeAltitude',
  gimbalPitch: 'GimbalPitchDegree',
  gimbalYaw: 'GimbalYawDegree',
  gimbalRoll: 'GimbalRollDegree',
  flightYaw: 'FlightYawDegree',
  flightPitch: 'FlightPitchDegree',
  flightRoll: 'FlightRollDegree',
  speedNorth: 'FlightXSpeed',
  speedEast: 'FlightYSpeed',
  speedDown: 'FlightZSpeed',
}

const signed = (n: number) => `${n < 0 ? '-' : '+'}${Math.abs(n).toFixed(2)}`

/** An XMP packet (ISO 16684-1) with the attitude as attributes of one description. */
export function attitudePacket(attitude: Attitude): Uint8Array {
  const facts = (Object.keys(localNames) as (keyof Attitude)[]).flatMap((key) => {
    const value = attitude[key]
    return value === null ? [] : [`   flight:${localNames[key]}="${signed(value)}"`]
  })
  const text = [
    '<?xpacket begin="" id="W5M0MpCehiHzreSzNTczkc9d"?>',
    '<x:xmpmeta xmlns:x="adobe:ns:meta/">',
    ' <rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">',
    '  <rdf:Description rdf:about="" xmlns:flight="urn:duskwork:attitude:1"',
    `${facts.join('\n')}/>`,
    ' </rdf:RDF>',
    '</x:xmpmeta>',
    '<?xpacket end="r"?>',
  ].join('\n')
  return Uint8Array.from(text, (c) => c.charCodeAt(0))
}
