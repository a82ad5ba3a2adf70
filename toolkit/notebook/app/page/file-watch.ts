import type { NotebookPanel } from '@jupyterlab/notebook';
import { type Contents, ServerConnection } from '@jupyterlab/services';
import type { Notices } from './notices.js';

const everyMs = 4000;

/** Looks at times whether the file is still what this page opened or saved last, and says if it is not. */
export function watchFile(panel: NotebookPanel, contents: Contents.IManager, notices: Notices): void {
  const { context } = panel;
  let looking = false;
  const look = async (): Promise<void> => {
    if (looking || panel.isDisposed || !context.isReady || document.visibilityState === 'hidden') return;
    looking = true;
    const hashBefore = context.contentsModel?.hash;
    try {
      const { hash } = await contents.get(context.localPath, { content: false, hash: true });
      if (panel.isDisposed) return;
      notices.settle('server');
      notices.settle('gone');
      // A save of this page that came in between is no change from elsewhere.
      if (context.contentsModel?.hash !== hashBefore) return;
      if (hash === undefined || hashBefore === undefined || hash === hashBefore) notices.settle('file');
      else sayChanged();
    } catch (problem) {
      if (panel.isDisposed) return;
      if (problem instanceof ServerConnection.ResponseError && problem.response.status === 404) sayGone();
      else if (problem instanceof ServerConnection.NetworkError) sayUnreachable();
    } finally {
      looking = false;
    }
  };
  const sayChanged = (): void =>
    notices.show(
      'file',
      'This notebook was changed elsewhere, by another tab or program. Nothing is overwritten without your word: saving will ask.',
      [
        {
          label: 'Load the other state',
          run: () => {
            notices.settle('file');
            void context.revert();
          },
        },
      ],
    );
  const sayGone = (): void =>
    notices.show(
      'gone',
      'The file is gone: deleted, moved or renamed elsewhere. The notebook is still here.',
      [{ label: 'Save it again', run: () => void context.save().catch(() => undefined) }],
    );
  const sayUnreachable = (): void =>
    notices.show(
      'server',
      'The server does not answer. Leave this page open: start it again with the same command, and open its link in this browser; then saving works again.',
      [],
    );
  context.saveState.connect((_, state) => {
    if (state === 'completed') for (const matter of ['server', 'gone', 'file']) notices.settle(matter);
  });
  const timer = setInterval(() => void look(), everyMs);
  const onVisible = (): void => void look();
  window.addEventListener('focus', onVisible);
  panel.disposed.connect(() => {
    clearInterval(timer);
    window.removeEventListener('focus', onVisible);
  });
}
