import { logo as logoText } from '../logo.js';
import { element } from './dom.js';
import { icon } from './icons.js';
import type { Theme } from './theme.js';

/** The line at the top: whose page it is, which notebook, whether it is saved, what the kernel does. */
export interface Header {
  readonly node: HTMLElement;
  /** Name of the open notebook; empty for none. */
  name: string;
  /** A new copy of our mark. */
  logo(): Node;
}

/** Makes the line at the top. */
export function createHeader(options: {
  readonly theme: Theme;
  readonly saved: HTMLElement;
  readonly kernel: HTMLElement;
  readonly onRename: () => void;
  readonly onHome: () => void;
  readonly onSide: () => void;
  readonly onKeys: () => void;
}): Header {
  const { theme } = options;
  const name = element('button', {
    class: 'kpw-Name',
    title: 'Rename the notebook',
    onClick: options.onRename,
  });
  const themeButton = element('button', { class: 'kpw-Button kpw-mod-quiet', onClick: () => theme.toggle() });
  const showTheme = (): void => {
    const next = theme.name === 'dark' ? 'light' : 'dark';
    themeButton.replaceChildren(icon(next === 'light' ? 'sun' : 'moon'));
    themeButton.title = `To the ${next} theme`;
    themeButton.setAttribute('aria-label', themeButton.title);
  };
  theme.changed.connect(showTheme);
  showTheme();
  const button = (kind: 'side' | 'keys', title: string, onClick: () => void): HTMLElement =>
    element('button', { class: 'kpw-Button kpw-mod-quiet', title, label: title, onClick }, [icon(kind)]);
  const node = element('header', { class: 'kpw-Header' }, [
    button('side', 'Show or hide the list', options.onSide),
    element('button', { class: 'kpw-Home', title: 'All notebooks', onClick: options.onHome }, [
      logoNode(),
      element('span', { text: 'Kelvin per Watt' }),
    ]),
    name,
    options.saved,
    element('span', { class: 'kpw-Space' }),
    options.kernel,
    button('keys', 'All keys (H)', options.onKeys),
    themeButton,
  ]);
  return {
    node,
    get name() {
      return name.textContent ?? '';
    },
    set name(text: string) {
      name.textContent = text;
      name.hidden = text === '';
    },
    logo: logoNode,
  };
}

/** Our own drawing, so its text may become nodes. */
function logoNode(): Node {
  const parsed = new DOMParser().parseFromString(logoText, 'image/svg+xml').documentElement;
  parsed.setAttribute('class', 'kpw-Logo');
  parsed.setAttribute('aria-hidden', 'true');
  return document.importNode(parsed, true);
}
