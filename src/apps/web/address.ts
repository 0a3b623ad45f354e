/** What the page shows, as its address says it: a link leads back to the same outing, frame, minute and zoom. */
export const screens = ['light', 'flight', 'exposure', 'frames', 'merge', 'print'] as const
export type Screen = (typeof screens)[number]

export interface Address {
  /** Null on the first screen. */
  readonly outing: string | null
  readonly screen: Screen
  readonly params: Readonly<Record<string, string>>
}

const isScreen = (name: string | undefined): name is Screen => screens.some((s) => s === name)

/** The token is the first part of the path, and the root of every address of ours. */
export const rootOf = (path: string): string => `/${path.split('/')[1] ?? ''}`

export function readAddress(path: string, search: string): Address {
  const [, , o, outing, screen] = path.split('/')
  const params = Object.fromEntries(new URLSearchParams(search))
  if (o !== 'o' || !outing) return { outing: null, screen: 'light', params }
  return { outing: decodeURIComponent(outing), screen: isScreen(screen) ? screen : 'light', params }
}

export function writeAddress(root: string, { outing, screen, params }: Address): string {
  const query = new URLSearchParams(Object.entries(params).filter(([, v]) => v !== '')).toString()
  const path = outing === null ? `${root}/` : `${root}/o/${encodeURIComponent(outing)}/${screen}`
  return query === '' ? path : `${path}?${query}`
}
