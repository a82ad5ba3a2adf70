import { randomUUID } from 'node:crypto';
import { stat } from 'node:fs/promises';
import { dirname } from 'node:path';
import { HttpError } from './http-error.js';
import type { Kernels } from './kernels.js';
import type { ServedFolder } from './served-folder.js';
import type { ServedKernel } from './served-kernel.js';

/** Which notebook runs in which kernel. */
interface Session {
  readonly id: string;
  path: string;
  name: string;
  type: string;
  kernel: ServedKernel;
}

type Body = Readonly<Record<string, unknown>>;

/** One kernel per notebook; two pages with the same notebook share it. */
export class Sessions {
  readonly #folder: ServedFolder;
  readonly #kernels: Kernels;
  readonly #sessions = new Map<string, Session>();

  constructor(folder: ServedFolder, kernels: Kernels) {
    this.#folder = folder;
    this.#kernels = kernels;
  }

  list(): readonly Body[] {
    return [...this.#sessions.values()].map(modelOf);
  }

  get(id: string): Body {
    return modelOf(this.#find(id));
  }

  async create(body: Body): Promise<Body> {
    const [path, type] = [textIn(body, 'path'), textIn(body, 'type')];
    const existing = [...this.#sessions.values()].find((one) => one.path === path && one.type === type);
    if (existing !== undefined) return modelOf(existing);
    const kernel = this.#kernelAskedFor(body) ?? this.#kernels.start(await this.#folderOf(path));
    const session: Session = { id: randomUUID(), path, name: textIn(body, 'name'), type, kernel };
    this.#sessions.set(session.id, session);
    return modelOf(session);
  }

  /** A new name, after the file was renamed, or another kernel: a new one where the old one died. */
  async change(id: string, body: Body): Promise<Body> {
    const session = this.#find(id);
    for (const field of ['path', 'name', 'type'] as const) {
      const value = body[field];
      if (typeof value === 'string' && value !== '') session[field] = value;
    }
    if (typeof body['kernel'] === 'object' && body['kernel'] !== null) {
      const old = session.kernel;
      const asked = this.#kernelAskedFor(body);
      session.kernel = asked ?? this.#kernels.start(await this.#folderOf(session.path));
      if (session.kernel !== old) await this.#kernels.shutdown(old.id).catch(() => undefined);
    }
    return modelOf(session);
  }

  async delete(id: string): Promise<void> {
    const { kernel } = this.#find(id);
    this.#sessions.delete(id);
    await this.#kernels.shutdown(kernel.id).catch(() => undefined);
  }

  /** Kernels that are gone take their sessions along. */
  forgetKernel(kernelId: string): void {
    for (const [id, { kernel }] of this.#sessions) if (kernel.id === kernelId) this.#sessions.delete(id);
  }

  /** Where a kernel works: beside its notebook. */
  async #folderOf(path: string): Promise<string> {
    const folder = dirname((await this.#folder.resolve(path)).full);
    const isThere = await stat(folder).then(
      (info) => info.isDirectory(),
      () => false,
    );
    if (!isThere) throw new HttpError(404, `The folder of “${path}” is not there (any more).`);
    return folder;
  }

  #find(id: string): Session {
    const session = this.#sessions.get(id);
    if (session === undefined) throw new HttpError(404, 'There is no such session.');
    return session;
  }

  #kernelAskedFor(body: Body): ServedKernel | undefined {
    const id = (body['kernel'] as { readonly id?: unknown } | null | undefined)?.id;
    return typeof id === 'string' && id !== '' ? this.#kernels.get(id) : undefined;
  }
}

function modelOf({ id, path, name, type, kernel }: Session): Body {
  return { id, path, name, type, kernel: kernel.model(), notebook: { path, name } };
}

function textIn(body: Body, field: string): string {
  const value = body[field];
  if (typeof value !== 'string') throw new HttpError(400, `The session lacks its ${field}.`);
  return value;
}
