import { spawnSync } from 'node:child_process'
import { accessSync, constants } from 'node:fs'
import { delimiter, join } from 'node:path'
import process from 'node:process'
import { type Browser, chromium } from 'playwright-core'

/** What a browser of this family is called where the system has one. */
const NAMES = ['chromium', 'chromium-browser', 'google-chrome-stable', 'google-chrome', 'chrome']

/** Sandboxes need rights that containers do not give; the pages are our own. */
const ARGUMENTS = ['--no-sandbox', '--disable-dev-shm-usage', '--font-render-hinting=none']

function onPath(): string | null {
  for (const folder of (process.env['PATH'] ?? '').split(delimiter)) {
    for (const name of NAMES) {
      const path = join(folder, name)
      try {
        accessSync(path, constants.X_OK)
        return path
      } catch {
        // Not there.
      }
    }
  }
  return null
}

/** The browser that an npm package carries, unpacked into the temporary folder; the second time with libraries of its own. */
async function fromPackage(withLibraries: boolean): Promise<string> {
  // The package takes its own system libraries along only where it believes to be on a bare machine.
  if (withLibraries) process.env['AWS_EXECUTION_ENV'] ??= 'AWS_Lambda_nodejs22.x'
  const { default: packaged } = await import('@sparticuz/chromium')
  return packaged.executablePath()
}

function fromSystem(): string | null {
  if (process.platform !== 'linux') return null
  const run = (...args: string[]) => spawnSync('apt-get', args, { stdio: 'ignore' }).status === 0
  return run('update') && run('install', '-y', '--no-install-recommends', 'chromium') ? onPath() : null
}

async function launch(find: () => Promise<string | null> | string | null, args: readonly string[] = ARGUMENTS) {
  const executablePath = await find()
  return executablePath === null ? null : chromium.launch({ executablePath, args: [...args], headless: true })
}

/**
 * A browser for tests: DUSKWORK_BROWSER, else one on the path, else the one of an npm package, else the system's package
 * manager, else the driver's own. The caller closes it.
 * @throws Error with what each of them said
 */
export async function openBrowser(): Promise<Browser> {
  const ways: (() => Promise<Browser | null>)[] = [
    () => launch(() => process.env['DUSKWORK_BROWSER'] ?? null),
    () => launch(onPath),
    () => launch(() => fromPackage(false)),
    () => launch(() => fromPackage(true)),
    () => launch(fromSystem),
    () => chromium.launch({ args: ARGUMENTS, headless: true }),
  ]
  const said: string[] = []
  for (const way of ways) {
    try {
      const browser = await way()
      if (browser) return browser
    } catch (error) {
      said.push((error as Error).message.split('\n')[0]!)
    }
  }
  throw new Error(`No browser for the tests. Set DUSKWORK_BROWSER to one, or install Chromium.\n${said.join('\n')}`)
}
