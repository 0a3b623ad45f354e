/**
 * Kelvin of an Exif LightSource code, as DNG readers take it when they blend two calibrations (DNG 1.6 reference code:
 * standard light A counts as 2850 K, not 2856). Null for codes that name no temperature.
 */
export function lightSourceKelvin(code: number | null): number | null {
  switch (code) {
    case 3: // tungsten
    case 17: // standard light A
      return 2850
    case 24: // ISO studio tungsten
      return 3200
    case 23: // D50
      return 5000
    case 1: // daylight
    case 4: // flash
    case 9: // fine weather
    case 18: // standard light B
    case 20: // D55
      return 5500
    case 10: // cloudy
    case 19: // standard light C
    case 21: // D65
      return 6500
    case 11: // shade
    case 22: // D75
      return 7500
    case 12: // daylight fluorescent 5700–7100 K
      return 6400
    case 13: // day-white fluorescent 4600–5500 K
      return 5050
    case 2: // fluorescent
    case 14: // cool-white fluorescent 3800–4500 K
      return 4150
    case 15: // white fluorescent 3250–3800 K
      return 3525
    case 16: // warm-white fluorescent 2600–3250 K
      return 2925
    default:
      return null
  }
}
