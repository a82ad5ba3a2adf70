import { MarkdownCell } from '@jupyterlab/cells';
import { SearchDocumentModel, SearchDocumentView } from '@jupyterlab/documentsearch';
import { type NotebookPanel, NotebookSearchProvider } from '@jupyterlab/notebook';
import { Widget } from '@lumino/widgets';
import { words } from './words.js';

const typingPauseMs = 250;
const views = new WeakMap<NotebookPanel, SearchDocumentView>();

/** Opens find and replace in a notebook, or puts the cursor back into it. */
export function openFind(panel: NotebookPanel): void {
  const existing = views.get(panel);
  if (existing !== undefined) {
    existing.focusSearchInput();
    return;
  }
  const provider = NotebookSearchProvider.createNew(panel, words);
  const model = new SearchDocumentModel(provider, typingPauseMs);
  const view = new SearchDocumentView(model, words);
  views.set(panel, view);
  const close = (): void => {
    views.delete(panel);
    if (!view.isDisposed) view.dispose();
    if (!model.isDisposed) model.dispose();
    provider.dispose();
  };
  view.closed.connect(() => {
    views.delete(panel);
    // The view ends its query after it has said that it is closed.
    setTimeout(close);
    if (!panel.isDisposed) panel.content.activate();
  });
  panel.disposed.connect(close);
  // A text with a match is shown as it was written; leaving the search, as it was read.
  const read = panel.content.widgets.filter((cell) => cell instanceof MarkdownCell && cell.rendered);
  view.closed.connect(() => {
    if (panel.isDisposed || panel.content.mode === 'edit') return;
    for (const cell of read) if (cell instanceof MarkdownCell && !cell.isDisposed) cell.rendered = true;
  });
  Widget.attach(view, panel.node);
  view.setSearchText(model.suggestedInitialQuery);
  view.focusSearchInput();
}

/** Takes find and replace away. */
export function closeFind(panel: NotebookPanel): void {
  views.get(panel)?.close();
}
