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

  show(matter: string, text: string, actions: readonly NoticeAction[]): void {
    const notice = element('div', { class: 'kpw-Notice', attributes: { 'data-matter': matter } }, [
      element('span', { class: 'kpw-Notice-text', text }),
      ...actions.map(({ label, run }) =>
        element('button', { class: 'kpw-Button', text: label, onClick: run }),
      ),
    ]);
    const old = this.#shown.get(matter);
    if (old === undefined) this.node.append(notice);
    else old.replaceWith(notice);
    this.#shown.set(matter, notice);
  }

  settle(matter: string): void {
    this.#shown.get(matter)?.remove();
    this.#shown.delete(matter);
  }

  clear(): void {
    for (const matter of [...this.#shown.keys()]) this.settle(matter);
  }
}
