import type { SessionContextDialogs } from '@jupyterlab/apputils';
import { NotebookActions, type NotebookPanel } from '@jupyterlab/notebook';
import { ServerConnection } from '@jupyterlab/services';
import { kernelStateOf } from './kernel-state.js';
import type { Notices } from './notices.js';
import { words } from './words.js';

type RunArguments = [NotebookPanel['sessionContext'], SessionContextDialogs, typeof words];

const matter = 'interrupt';
/** The server's answer where the cell did not stop in time. */
const notStopped = 504;

/** What a person can ask of the kernel of a notebook. */
export class KernelActions {
  readonly #panel: NotebookPanel;
  readonly #dialogs: SessionContextDialogs;
  readonly #notices: Notices;

  constructor(panel: NotebookPanel, dialogs: SessionContextDialogs, notices: Notices) {
    this.#panel = panel;
    this.#dialogs = dialogs;
    this.#notices = notices;
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
    // A kernel that ended or is gone is replaced only on request: cells must not start in an empty one unnoticed.
    if (['dead', 'none'].includes(kernelStateOf(sessionContext))) return;
    await actions[how](content, sessionContext, this.#dialogs, words);
  }

  async interrupt(): Promise<void> {
    try {
      await this.#panel.sessionContext.session?.kernel?.interrupt();
    } catch (problem) {
      if (!(problem instanceof ServerConnection.ResponseError) || problem.response.status !== notStopped)
        throw problem;
      this.#notices.show(
        matter,
        'The cell cannot be stopped: it waits for something outside the kernel, such as another program. A restart ends it; what the cells had computed goes with it.',
        [
          { label: 'Wait', run: () => this.#notices.settle(matter) },
          { label: 'Restart', run: () => void this.restart() },
        ],
      );
    }
  }

  /** A fresh kernel, also after the old one ended; resolves when it is there. */
  async restart(): Promise<void> {
    this.#notices.settle(matter);
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
