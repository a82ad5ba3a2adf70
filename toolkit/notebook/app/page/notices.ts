import { element } from './dom.js';

/** What a notice offers to do. */
export interface NoticeAction {
  readonly label: string;
  readonly run: () => void;
}

/** Lines above the notebook that say what a person should know, one for each matter, until it is settled. */
export class Notices {
  readonly node: HTMLElement = element('div', { class: 'kpw-Notices', attributes: { role: 'alert' } });
  readonly #shown = new Map<string, HTMLElement>();
  readonly #onFocusLost: () => void;

  /** `onFocusLost`: a notice has gone on which the focus stood. */
  constructor(onFocusLost: () => void) {
    this.#onFocusLost = onFocusLost;
  }

  show(matter: string, text: string, actions: readonly NoticeAction[]): void {
    const notice = element('div', { class: 'kpw-Notice', attributes: { 'data-matter': matter } }, [
      element('span', { class: 'kpw-Notice-text', text }),
      ...actions.map(({ label, run }) =>
        element('button', { class: 'kpw-Button', text: label, onClick: run }),
      ),
    ]);
    const old = this.#shown.get(matter);
    this.#shown.set(matter, notice);
    if (old === undefined) {
      this.node.append(notice);
      return;
    }
    const focused = [...old.querySelectorAll<Element>('button')].indexOf(document.activeElement ?? old);
    old.replaceWith(notice);
    if (focused !== -1) notice.querySelectorAll('button')[focused]?.focus();
  }

  settle(matter: string): void {
    const notice = this.#shown.get(matter);
    const hadFocus = notice?.contains(document.activeElement) === true;
    notice?.remove();
    this.#shown.delete(matter);
    if (hadFocus) this.#onFocusLost();
  }

  clear(): void {
    for (const matter of [...this.#shown.keys()]) this.settle(matter);
  }
}
