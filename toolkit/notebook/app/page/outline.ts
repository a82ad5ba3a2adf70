import { type NotebookPanel, NotebookToCFactory, type NotebookTracker } from '@jupyterlab/notebook';
import { TableOfContents, TableOfContentsWidget } from '@jupyterlab/toc';
import type { Rendering } from './rendering.js';

/** The headings of the open notebook as a tree that folds and leads to them. */
export class Outline {
  readonly widget: TableOfContentsWidget = new TableOfContentsWidget({
    placeholderHeadline: 'No headings',
    placeholderText: 'Headings in text cells make the contents of the notebook.',
  });
  readonly #factory: NotebookToCFactory;

  constructor(tracker: NotebookTracker, rendering: Rendering) {
    this.#factory = new NotebookToCFactory(tracker, rendering.markdown, rendering.sanitizer, undefined);
    this.widget.addClass('jp-TableOfContents-tree');
    this.widget.addClass('kpw-Outline');
  }

  /** Shows the headings of another notebook. */
  show(panel: NotebookPanel | undefined): void {
    const old = this.widget.model;
    const model = panel === undefined ? null : this.#factory.createNew(panel, TableOfContents.defaultConfig);
    if (model !== null) model.isActive = true;
    this.widget.model = model;
    old?.dispose();
  }
}
