import { type Contents, Drive } from '@jupyterlab/services';

/**
 * Reads and saves files, and tells the server with each save which state of the file is to be replaced: the one this
 * page saw last. If it is another one by then, the server refuses.
 */
export class CarefulDrive extends Drive {
  readonly #seen = new Map<string, string>();

  override async get(path: string, options?: Contents.IFetchOptions): Promise<Contents.IModel> {
    const model = await super.get(path, options);
    if (typeof model.hash === 'string') this.#seen.set(path, model.hash);
    return model;
  }

  override async save(path: string, options: Partial<Contents.IModel> = {}): Promise<Contents.IModel> {
    const seen = this.#seen.get(path);
    const careful = seen === undefined ? options : { ...options, expected_hash: seen };
    const model = await super.save(path, careful);
    if (typeof model.hash === 'string') this.#seen.set(path, model.hash);
    return model;
  }

  override async rename(path: string, newPath: string): Promise<Contents.IModel> {
    this.#seen.delete(path);
    this.#seen.delete(newPath);
    return super.rename(path, newPath);
  }

  override async delete(path: string): Promise<void> {
    this.#seen.delete(path);
    return super.delete(path);
  }
}
