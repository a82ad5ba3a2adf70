import { type Contents, Drive, ServerConnection } from '@jupyterlab/services';

/**
 * Reads and saves files, and tells the server with each save which state of the file is to be replaced: the one this
 * page saw last. If it is another one by then, the server refuses.
 */
export class CarefulDrive extends Drive {
  readonly #seen = new Map<string, string>();

  override async get(path: string, options?: Contents.IFetchOptions): Promise<Contents.IModel> {
    const model = await super.get(path, options).catch(inWords);
    if (typeof model.hash === 'string') this.#seen.set(path, model.hash);
    return model;
  }

  override async save(path: string, options: Partial<Contents.IModel> = {}): Promise<Contents.IModel> {
    const seen = this.#seen.get(path);
    const careful = seen === undefined ? options : { ...options, expected_hash: seen };
    const model = await super.save(path, careful).catch(inWords);
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

/** A browser says of a server that is gone what no person can use; a save asks first and says it as well. */
function inWords(problem: unknown): never {
  if (problem instanceof ServerConnection.NetworkError)
    problem.message =
      'The server does not answer. What you see is kept in this page: start the server again, then save.';
  throw problem;
}
