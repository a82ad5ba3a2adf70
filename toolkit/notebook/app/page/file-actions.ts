import { Dialog, showDialog, showErrorMessage } from '@jupyterlab/apputils';
import { PathExt } from '@jupyterlab/coreutils';
import type { DocumentManager } from '@jupyterlab/docmanager';
import { askForName } from './name-dialog.js';

/** Rename, duplicate and delete, with the questions they need; failures are said. */
export class FileActions {
  readonly #manager: DocumentManager;

  constructor(manager: DocumentManager) {
    this.#manager = manager;
  }

  async create(folder: string): Promise<string | undefined> {
    return this.#said('No notebook was made', async () => {
      const model = await this.#manager.newUntitled({ type: 'notebook', path: folder });
      return model.path;
    });
  }

  async rename(path: string): Promise<string | undefined> {
    const name = PathExt.basename(path);
    const newName = await askForName('Rename', name, 'Rename');
    if (newName === undefined) return undefined;
    const newPath = PathExt.join(PathExt.dirname(path), newName);
    return this.#said(
      `“${name}” was not renamed`,
      async () => (await this.#manager.rename(path, newPath)).path,
    );
  }

  async duplicate(path: string): Promise<string | undefined> {
    return this.#said(
      `“${PathExt.basename(path)}” was not duplicated`,
      async () => (await this.#manager.services.contents.copy(path, PathExt.dirname(path))).path,
    );
  }

  /** Resolves to whether it is gone. */
  async delete(path: string): Promise<boolean> {
    const name = PathExt.basename(path);
    const { button } = await showDialog({
      title: `Delete “${name}”?`,
      body: 'It cannot be brought back from here.',
      buttons: [Dialog.cancelButton(), Dialog.warnButton({ label: 'Delete' })],
      defaultButton: 0,
    });
    if (!button.accept) return false;
    const deleted = await this.#said(`“${name}” was not deleted`, async () => {
      const { sessions } = this.#manager.services;
      const running = [...sessions.running()].find((session) => session.path === path);
      this.#forgetChanges(path);
      await this.#manager.closeFile(path);
      if (running !== undefined) await sessions.shutdown(running.id);
      await this.#manager.services.contents.delete(path);
      return true;
    });
    return deleted === true;
  }

  /** Who deletes a notebook is not asked as well whether its last changes shall be saved. */
  #forgetChanges(path: string): void {
    const widget = this.#manager.findWidget(path, null);
    const context = widget === undefined ? undefined : this.#manager.contextForWidget(widget);
    if (context !== undefined) context.model.dirty = false;
  }

  async stopKernel(path: string): Promise<void> {
    const { sessions } = this.#manager.services;
    const running = [...sessions.running()].find((session) => session.path === path);
    if (running !== undefined) await sessions.shutdown(running.id);
  }

  async #said<Result>(title: string, task: () => Promise<Result>): Promise<Result | undefined> {
    try {
      return await task();
    } catch (problem) {
      await showErrorMessage(title, problem instanceof Error ? problem.message : String(problem));
      return undefined;
    }
  }
}
