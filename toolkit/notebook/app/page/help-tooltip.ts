import type { NotebookPanel } from '@jupyterlab/notebook';
import { Tooltip } from '@jupyterlab/tooltip';
import { Widget } from '@lumino/widgets';

let shown: Tooltip | undefined;

/** Shows what the kernel knows of the name at the cursor; asked again, it goes. */
export async function toggleHelp(panel: NotebookPanel): Promise<void> {
  if (shown !== undefined && !shown.isDisposed) {
    shown.dispose();
    shown = undefined;
    return;
  }
  const editor = panel.content.activeCell?.editor;
  const kernel = panel.sessionContext.session?.kernel;
  if (editor === null || editor === undefined || kernel === null || kernel === undefined) return;
  const position = editor.getCursorPosition();
  const code = editor.model.sharedModel.getSource();
  const cursor = [...code.slice(0, editor.getOffsetAt(position))].length;
  const reply = await kernel.requestInspect({ code, cursor_pos: cursor, detail_level: 0 });
  if (reply.content.status !== 'ok' || !reply.content.found || panel.content.activeCell?.editor !== editor)
    return;
  shown = new Tooltip({
    anchor: panel.content,
    bundle: reply.content.data as Tooltip.IOptions['bundle'],
    editor,
    rendermime: panel.content.rendermime,
  });
  Widget.attach(shown, document.body);
}

/** Takes the help away; says whether it was there. */
export function dismissHelp(): boolean {
  const wasShown = shown !== undefined && !shown.isDisposed;
  shown?.dispose();
  shown = undefined;
  return wasShown;
}
