import type { NotebookPanel } from '@jupyterlab/notebook';
import { ServerConnection } from '@jupyterlab/services';
import type { KernelActions } from './kernel-actions.js';
import { kernelStateOf } from './kernel-state.js';
import type { Notices } from './notices.js';

const matter = 'kernel';

/** Says when the kernel ended by itself, and why, and offers another one. The notebook is not touched. */
export function watchKernel(panel: NotebookPanel, actions: KernelActions, notices: Notices): void {
  const { sessionContext } = panel;
  let lastId: string | undefined;
  const update = (): void => {
    if (panel.isDisposed) return;
    const kernel = sessionContext.session?.kernel;
    lastId = kernel?.id ?? lastId;
    if (kernelStateOf(sessionContext) === 'dead') {
      show('');
      if (lastId !== undefined) void reasonOf(lastId).then(show);
    } else notices.settle(matter);
  };
  const show = (reason: string): void => {
    if (panel.isDisposed || kernelStateOf(sessionContext) !== 'dead') return;
    const why = reason === '' ? '' : ` (${reason})`;
    notices.show(
      matter,
      `The kernel ended by itself${why}. Your notebook is unharmed; what the cells had computed is gone.`,
      [
        { label: 'Restart', run: () => void actions.restart() },
        { label: 'Restart and run all', run: () => void actions.restartAndRunAll() },
      ],
    );
  };
  sessionContext.statusChanged.connect(update);
  sessionContext.kernelChanged.connect(update);
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
