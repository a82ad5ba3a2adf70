import type { NotebookPanel } from '@jupyterlab/notebook';
import { Autosave } from './autosave.js';
import { element } from './dom.js';

/** Says at every moment whether what is seen is also on disk. */
export class SavedState {
  readonly node: HTMLElement = element('button', {
    class: 'kpw-SavedState',
    onClick: () => this.#retry(),
    attributes: { 'aria-live': 'polite' },
  });
  #autosave: Autosave | undefined;

  constructor() {
    this.node.hidden = true;
  }

  /** Follows another notebook. */
  show(panel: NotebookPanel | undefined): void {
    this.#autosave?.dispose();
    this.#autosave = undefined;
    this.node.hidden = panel === undefined;
    if (panel === undefined) return;
    const autosave = new Autosave(panel);
    this.#autosave = autosave;
    const update = (): void => this.#say(autosave);
    autosave.changed.connect(update);
    update();
  }

  /** Resolves once no save is under way. */
  async settled(): Promise<void> {
    await this.#autosave?.settled();
  }

  #say({ state, savedAt, problem }: Autosave): void {
    const time = savedAt?.toLocaleTimeString([], { hour: '2-digit', minute: '2-digit' });
    const texts = {
      opening: 'Opening…',
      saved: time === undefined ? 'Saved' : `Saved ${time}`,
      changed: 'Unsaved changes',
      saving: 'Saving…',
      failed: 'Not saved · try again',
      conflict: 'Not saved · changed elsewhere',
      'read-only': 'Read-only · not saved',
    };
    this.node.textContent = texts[state];
    this.node.dataset['state'] = state;
    this.node.title =
      problem ?? (state === 'changed' ? 'Saves by itself in a moment; Ctrl S saves now' : 'Ctrl S saves now');
  }

  #retry(): void {
    void this.#autosave?.saveNow();
  }
}
