import {
  CompletionProviderManager,
  ContextCompleterProvider,
  KernelCompleterProvider,
} from '@jupyterlab/completer';
import type { NotebookPanel } from '@jupyterlab/notebook';
import type { Rendering } from './rendering.js';

/** Completion by the kernel, and by the words of the cell while the kernel is busy. */
export class Completion {
  readonly #manager = new CompletionProviderManager();
  readonly #rendering: Rendering;

  constructor(rendering: Rendering) {
    this.#rendering = rendering;
    const providers = [new KernelCompleterProvider(), new ContextCompleterProvider()];
    for (const provider of providers) this.#manager.registerProvider(provider);
    this.#manager.activateProvider(providers.map(({ identifier }) => identifier));
    this.#manager.setTimeout(3000);
    this.#manager.setShowDocumentationPanel(true);
  }

  /** Follows the cell in which a person writes. */
  async follow(panel: NotebookPanel): Promise<void> {
    const update = async (): Promise<void> => {
      const cell = panel.content.activeCell;
      await cell?.ready;
      if (panel.isDisposed || cell?.isDisposed) return;
      await this.#manager.updateCompleter({
        widget: panel,
        editor: cell?.editor ?? null,
        session: panel.sessionContext.session,
        sanitizer: this.#rendering.sanitizer,
      });
    };
    panel.content.activeCellChanged.connect(() => void update());
    panel.sessionContext.sessionChanged.connect(() => void update());
    await update();
  }

  invoke(panel: NotebookPanel): void {
    this.#manager.invoke(panel.id);
  }

  select(panel: NotebookPanel): void {
    this.#manager.select(panel.id);
  }
}
