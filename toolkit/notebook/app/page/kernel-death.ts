import type { ISessionContext } from '@jupyterlab/apputils';
import type { NotebookPanel } from '@jupyterlab/notebook';
import { ServerConnection } from '@jupyterlab/services';
import type { KernelActions } from './kernel-actions.js';
import { kernelStateOf } from './kernel-state.js';
import type { Notices } from './notices.js';

const matter = 'kernel';

/**
 * Says when the kernel ended by itself, and why, or is gone, as after a restart of the server; offers another one. The
 * notebook is not touched.
 */
export function watchKernel(panel: NotebookPanel, actions: KernelActions, notices: Notices): void {
  const { sessionContext } = panel;
  withoutDialogOnDeath(sessionContext);
  let lastId: string | undefined;
  const update = (): void => {
    if (panel.isDisposed || sessionContext.isDisposed) return;
    const kernel = sessionContext.session?.kernel;
    lastId = kernel?.id ?? lastId;
    const state = kernelStateOf(sessionContext);
    if (state === 'dead') {
      show('');
      if (lastId !== undefined) void reasonOf(lastId).then(show);
    } else if (state === 'none')
      notices.show(
        matter,
        'No kernel runs for this notebook: what its cells had computed is gone.',
        restarts,
      );
    else notices.settle(matter);
  };
  const restarts = [
    { label: 'Restart', run: () => void actions.restart() },
    { label: 'Restart and run all', run: () => void actions.restartAndRunAll() },
  ];
  const show = (reason: string): void => {
    if (panel.isDisposed || kernelStateOf(sessionContext) !== 'dead') return;
    const why = reason === '' ? '' : ` (${reason})`;
    notices.show(
      matter,
      `The kernel ended by itself${why}. Your notebook is unharmed; what the cells had computed is gone.`,
      restarts,
    );
  };
  sessionContext.statusChanged.connect(update);
  sessionContext.kernelChanged.connect(update);
  sessionContext.sessionChanged.connect(update);
  void sessionContext.ready.then(update);
}

/** The components show a dialog of their own over the page when a kernel ends; the notice says more and is in nobody's way. */
function withoutDialogOnDeath(context: ISessionContext): void {
  const own = context as unknown as {
    _displayKernelError(message: string, traceback: string): Promise<void>;
  };
  const display = own._displayKernelError.bind(context);
  own._displayKernelError = async (message, traceback) => {
    if (kernelStateOf(context) !== 'dead') await display(message, traceback);
  };
}

async function reasonOf(kernelId: string): Promise<string> {
  try {
    const settings = ServerConnection.makeSettings();
    const url = `${settings.baseUrl}api/kernels/${encodeURIComponent(kernelId)}`;
    const response = await ServerConnection.makeRequest(url, {}, settings);
    const { death } = (await response.json()) as { readonly death?: unknown };
    return typeof death === 'string' ? death : '';
  } catch {
    return '';
  }
}
