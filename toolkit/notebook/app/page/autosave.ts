import type { INotebookModel, NotebookPanel } from '@jupyterlab/notebook';
import { type ISignal, Signal } from '@lumino/signaling';

/** `conflict`: the file was changed elsewhere and the person has not decided yet. */
export type SaveState = 'opening' | 'saved' | 'changed' | 'saving' | 'failed' | 'conflict' | 'read-only';

/** After the last change; long enough to write a word, short enough to lose no thought. */
const pauseMs = 2000;
const longestPauseMs = 15_000;

/**
 * Saves a notebook a moment after it was changed. After a save that failed or was refused it waits for the person, so
 * that no question is asked twice.
 */
export class Autosave {
  readonly #panel: NotebookPanel;
  readonly #changed = new Signal<this, void>(this);
  #state: SaveState = 'opening';
  #savedAt: Date | undefined;
  #problem: string | undefined;
  #timer: ReturnType<typeof setTimeout> | undefined;
  #changedSinceMs: number | undefined;
  #changedWhileSaving = false;

  constructor(panel: NotebookPanel) {
    this.#panel = panel;
    const { context } = panel;
    context.saveState.connect(this.#onSave, this);
    context.fileChanged.connect(this.#onFile, this);
    void context.ready.then(() => {
      if (panel.isDisposed) return;
      this.#watchCells(context.model as INotebookModel);
      this.#savedAt = dateOf(context.contentsModel?.last_modified);
      this.#enter('saved');
    });
    document.addEventListener('visibilitychange', this.#onHide);
  }

  get state(): SaveState {
    return this.#state;
  }

  get savedAt(): Date | undefined {
    return this.#savedAt;
  }

  /** Why the last save failed. */
  get problem(): string | undefined {
    return this.#problem;
  }

  get changed(): ISignal<this, void> {
    return this.#changed;
  }

  /** Saves now; resolves to whether it was saved. */
  async saveNow(): Promise<boolean> {
    clearTimeout(this.#timer);
    this.#timer = undefined;
    const { context } = this.#panel;
    if (context.isDisposed || !context.isReady) return false;
    if (context.contentsModel?.writable === false) {
      this.#enter('read-only', 'The file or its folder is protected against writing: save a copy elsewhere.');
      return false;
    }
    try {
      await context.save();
      return true;
    } catch (problem) {
      const { name, message } = problem as Error;
      if (name === 'ModalDuplicateError') return false;
      this.#enter(name === 'ModalCancelError' ? 'conflict' : 'failed', message);
      return false;
    }
  }

  /** Resolves once no save is under way: whoever puts the notebook away earlier breaks it off. */
  async settled(): Promise<void> {
    while (this.#state === 'saving')
      await new Promise<void>((done) => {
        const once = (): void => {
          this.#changed.disconnect(once);
          done();
        };
        this.#changed.connect(once);
      });
  }

  dispose(): void {
    clearTimeout(this.#timer);
    document.removeEventListener('visibilitychange', this.#onHide);
    Signal.clearData(this);
  }

  #onChange(): void {
    this.#changedSinceMs ??= performance.now();
    this.#changedWhileSaving = this.#state === 'saving';
    // What failed once is tried again when the person asks for it.
    const waits = this.#state === 'failed' || this.#state === 'conflict' || this.#state === 'read-only';
    if (!waits && this.#state !== 'saving') this.#enter('changed');
    this.#panel.context.model.dirty = true;
    if (!waits) this.#schedule();
  }

  /**
   * Cells are what a person changes. A kernel that has started writes its particulars into the notebook's metadata: that
   * alone must not touch the file.
   */
  #watchCells(model: INotebookModel): void {
    for (const cell of model.cells) cell.contentChanged.connect(this.#onChange, this);
    model.cells.changed.connect((_, { type, newValues }) => {
      if (type !== 'remove') for (const cell of newValues) cell.contentChanged.connect(this.#onChange, this);
      this.#onChange();
    });
    const settle = (): void => {
      if (this.#state === 'saved' && model.dirty) model.dirty = false;
    };
    model.metadataChanged.connect(settle);
    model.stateChanged.connect(settle);
    settle();
  }

  #onSave(_: unknown, state: string): void {
    if (state === 'started') {
      this.#changedWhileSaving = false;
      this.#enter('saving');
    } else if (state === 'completed') {
      this.#changedSinceMs = undefined;
      this.#savedAt = new Date();
      if (this.#changedWhileSaving) {
        this.#panel.context.model.dirty = true;
        this.#changedSinceMs = performance.now();
        this.#enter('changed');
        this.#schedule();
      } else {
        clearTimeout(this.#timer); // what it was to save is saved
        this.#enter('saved');
      }
    } else if (state === 'failed') this.#enter('failed');
  }

  /** The other state was loaded. */
  #onFile(): void {
    const { context } = this.#panel;
    if (this.#state === 'conflict' && !context.model.dirty) this.#enter('saved');
  }

  readonly #onHide = (): void => {
    if (document.visibilityState === 'hidden' && this.#state === 'changed') void this.saveNow();
  };

  #schedule(): void {
    clearTimeout(this.#timer);
    const waitedMs = performance.now() - (this.#changedSinceMs ?? performance.now());
    const delayMs = Math.max(0, Math.min(pauseMs, longestPauseMs - waitedMs));
    this.#timer = setTimeout(() => {
      if (this.#state === 'saving') this.#schedule();
      else void this.saveNow();
    }, delayMs);
  }

  #enter(state: SaveState, problem?: string): void {
    if (this.#state === state && this.#problem === problem) return;
    this.#state = state;
    this.#problem = problem;
    this.#changed.emit();
  }
}

function dateOf(text: string | undefined): Date | undefined {
  return text === undefined ? undefined : new Date(text);
}
