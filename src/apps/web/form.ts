/** How the page is lit: dark by default, light for a bright room, red for dark-adapted eyes. */
export const forms = ['dark', 'light', 'red'] as const
export type Form = (typeof forms)[number]

const KEY = 'duskwork-form'

export function readForm(): Form {
  try {
    const kept = window.localStorage.getItem(KEY)
    return forms.find((f) => f === kept) ?? 'dark'
  } catch {
    return 'dark'
  }
}

export function putForm(form: Form): void {
  document.documentElement.dataset['form'] = form
  try {
    window.localStorage.setItem(KEY, form)
  } catch {
    // A browser that keeps nothing still shows it.
  }
}
