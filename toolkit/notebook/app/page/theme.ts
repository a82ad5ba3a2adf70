import { type ISignal, Signal } from '@lumino/signaling';

/** Light or dark, by the system's habit until a person chooses. */
export type ThemeName = 'light' | 'dark';

const themeKey = 'kelvin-per-watt:theme';

/** The page's theme; `theme-first.ts` sets the first one before anything is drawn. */
export class Theme {
  readonly #changed = new Signal<this, ThemeName>(this);

  constructor() {
    this.#apply(this.name);
    matchMedia('(prefers-color-scheme: dark)').addEventListener('change', ({ matches }) => {
      if (localStorage.getItem(themeKey) === null) this.#set(matches ? 'dark' : 'light');
    });
  }

  get name(): ThemeName {
    return document.documentElement.dataset['theme'] === 'dark' ? 'dark' : 'light';
  }

  get changed(): ISignal<this, ThemeName> {
    return this.#changed;
  }

  toggle(): void {
    const next = this.name === 'dark' ? 'light' : 'dark';
    localStorage.setItem(themeKey, next);
    this.#set(next);
  }

  #set(name: ThemeName): void {
    document.documentElement.dataset['theme'] = name;
    this.#apply(name);
    this.#changed.emit(name);
  }

  /** What the components of JupyterLab look for. */
  #apply(name: ThemeName): void {
    document.body.dataset['jpThemeLight'] = String(name === 'light');
    document.body.dataset['jpThemeName'] = name === 'light' ? 'JupyterLab Light' : 'JupyterLab Dark';
  }
}
