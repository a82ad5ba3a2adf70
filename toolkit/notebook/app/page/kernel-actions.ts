import type { SessionContextDialogs } from '@jupyterlab/apputils';
import { NotebookActions, type NotebookPanel } from '@jupyterlab/notebook';
import { kernelStateOf } from './kernel-state.js';
import { words } from './words.js';

type RunArguments = [NotebookPanel['sessionContext'], SessionContextDialogs, typeof words];

/** What a person can ask of the kernel of a notebook. */
export class KernelActions {
  readonly #panel: NotebookPanel;
  readonly #dialogs: SessionContextDialogs;

  constructor(panel: NotebookPanel, dialogs: SessionContextDialogs) {
    this.#panel = panel;
    this.#dialogs = dialogs;
  }

  async run(how: 'advance' | 'stay' | 'insert' | 'all' | 'above' | 'below'): Promise<void> {
    const { content, sessionContext } = this.#panel;
    const actions = {
      advance: NotebookActions.runAndAdvance,
      stay: NotebookActions.run,
      insert: NotebookActions.runAndInsert,
      // Not the usual action, which jumps to the end: who runs everything reads on from where they are.
      all: (notebook: typeof content, ...rest: RunArguments) =>
        NotebookActions.runCells(notebook, notebook.widgets, ...rest),
      above: NotebookActions.runAllAbove,
      below: NotebookActions.runAllBelow,
    };
    // A kernel that ended is replaced only on request: cells must not start in an empty one unnoticed.
    if (kernelStateOf(sessionContext) === 'dead') return;
    await actions[how](content, sessionContext, this.#dialogs, words);
  }

  async interrupt(): Promise<void> {
    await this.#panel.sessionContext.session?.kernel?.interrupt();
  }

  /** A fresh kernel, also after the old one ended; resolves when it is there. */
  async restart(): Promise<void> {
    const { sessionContext } = this.#panel;
    if (kernelStateOf(sessionContext) === 'dead' || !sessionContext.session?.kernel)
      await sessionContext.changeKernel({ name: 'kelvin-per-watt' });
    else await sessionContext.restartKernel();
    for (const cell of this.#panel.content.widgets) cell.setPrompt('');
  }

  async restartAndRunAll(): Promise<void> {
    await this.restart();
    await this.run('all');
  }
}
