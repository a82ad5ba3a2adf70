import type { NotebookPanel } from '@jupyterlab/notebook';
import type { Notices } from './notices.js';

const matter = 'trust';

/**
 * Says when outputs of a notebook come from somewhere else: their scripts stay off and only clean HTML is shown, until
 * the person trusts the notebook or runs it.
 */
export function watchTrust(panel: NotebookPanel, notices: Notices): void {
  const update = (): void => {
    if (panel.isDisposed) return;
    const cells = [...(panel.content.model?.cells ?? [])];
    const untrusted = cells.some((cell) => cell.type === 'code' && !cell.trusted && hasOutputs(cell));
    if (untrusted)
      notices.show(
        matter,
        'The outputs of this notebook were made elsewhere: their scripts are off. Trust it only if you know who made it, or run it to make the outputs your own.',
        [{ label: 'Trust this notebook', run: () => trust(panel) }],
      );
    else notices.settle(matter);
  };
  void panel.context.ready.then(() => {
    if (panel.isDisposed) return;
    panel.content.model?.contentChanged.connect(update);
    panel.context.fileChanged.connect(update);
    update();
  });
}

function trust(panel: NotebookPanel): void {
  for (const cell of panel.content.model?.cells ?? []) cell.trusted = true;
  panel.context.save().catch(() => undefined);
}

function hasOutputs(cell: object): boolean {
  return 'outputs' in cell && (cell.outputs as { readonly length: number }).length > 0;
}
