/** Text as HTML text or attribute value. */
export const escapeHtml = (text: string): string =>
  text.replace(/[&<>"']/g, (c) => ({ '&': '&amp;', '<': '&lt;', '>': '&gt;', '"': '&quot;', "'": '&#39;' })[c]!)

/** A path below the page's folder as a relative address; null when it lies elsewhere: a page must stand on its own. */
export function linkBelow(folder: string, path: string): string | null {
  const base = `${folder.replaceAll('\\', '/').replace(/\/+$/, '')}/`
  const whole = path.replaceAll('\\', '/')
  if (!whole.startsWith(base)) return null
  const parts = whole.slice(base.length).split('/')
  if (parts.includes('..')) return null
  return parts.map((part) => encodeURIComponent(part)).join('/')
}

/** Numbers with a true minus sign; null says that it was not measured. */
export function figure(value: number | null, digits: number, unit = ''): string {
  if (value === null || !Number.isFinite(value)) return 'not measured'
  const text = Math.abs(value).toFixed(digits)
  const minus = value < 0 && Number(text) !== 0 ? '−' : ''
  return `${minus}${text}${unit && ` ${unit}`}`
}

/**
 * A whole page: dark, without scripts, fonts or anything from a network. Text against background is at least 7:1
 * (WCAG 2.2 asks 4.5:1): #e9edf5 on #0a0e16 is 16:1, #9fabc2 on #111827 is 7.6:1.
 */
export const page = (title: string, body: string): string => `<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; img-src 'self' file:; style-src 'unsafe-inline'">
<title>${escapeHtml(title)}</title>
<style>
:root { color-scheme: dark; --night: #0a0e16; --panel: #111827; --line: #2b3751; --text: #e9edf5; --quiet: #9fabc2;
  --lamp: #ffb45c; --sky: #7fb2ff; --reached: #7ddc9a; --short: #ff8177; }
* { box-sizing: border-box; }
body { margin: 0; background: var(--night); color: var(--text); font: 16px/1.5 system-ui, sans-serif;
  font-variant-numeric: tabular-nums; }
main { max-width: 1180px; margin: 0 auto; padding: 40px 24px 80px; }
h1 { font-size: 17px; font-weight: 500; color: var(--quiet); margin: 0 0 6px; }
.answer { font-size: clamp(22px, 3vw, 32px); line-height: 1.25; font-weight: 600; margin: 0 0 16px; max-width: 32em; }
.answer b { color: var(--lamp); font-weight: 600; }
h2 { font-size: 22px; margin: 48px 0 12px; }
p { max-width: 68ch; }
.quiet { color: var(--quiet); }
section.bracket { background: var(--panel); border: 1px solid var(--line); border-radius: 14px; padding: 20px 24px 24px;
  margin: 24px 0; }
section.bracket h2 { margin: 0 0 4px; }
figure { margin: 16px 0; }
figure img { display: block; width: 100%; height: auto; border-radius: 8px; background: #000; }
figure.panel { background: var(--panel); border: 1px solid var(--line); border-radius: 14px; padding: 16px 20px; }
@media (min-width: 900px) { .pair { display: grid; grid-template-columns: 1fr 1fr; gap: 16px; } .pair figure { margin: 0; } }
figcaption { color: var(--quiet); margin-top: 6px; }
table { border-collapse: collapse; width: 100%; margin: 12px 0 0; }
th, td { text-align: left; vertical-align: top; padding: 8px 12px 8px 0; border-top: 1px solid var(--line); font-weight: 400; }
th[scope=row] { color: var(--quiet); }
thead th { color: var(--quiet); border-top: 0; font-size: 14px; }
.reached { color: var(--reached); }
.short { color: var(--short); }
.doubt { color: #f2d35c; }
ul.contact { list-style: none; padding: 0; display: grid; grid-template-columns: repeat(auto-fill, minmax(220px, 1fr)); gap: 12px; }
ul.contact li { color: var(--quiet); font-size: 14px; }
ul.contact img { display: block; width: 100%; height: auto; border-radius: 6px; margin-bottom: 4px; }
a { color: var(--sky); }
a:focus-visible { outline: 3px solid var(--lamp); outline-offset: 2px; }
ul { padding-left: 20px; }
.scroll { overflow-x: auto; }
@media print { :root { color-scheme: light; --night: #fff; --panel: #fff; --text: #000; --quiet: #333; --line: #999;
  --lamp: #000; --sky: #000; --reached: #000; --short: #000; } }
</style>
</head>
<body>
<main>
${body}
</main>
</body>
</html>
`
