import { createHash } from 'node:crypto';
import { constants } from 'node:fs';
import { access, copyFile, lstat, mkdir, readdir, rename, rm, rmdir } from 'node:fs/promises';
import { basename, dirname, extname } from 'node:path';
import type { Notebook } from '../../document/notebook-file.js';
import { writeAtomically, writeNew } from './atomic-write.js';
import type { ContentsModel, ContentsQuery } from './contents-model.js';
import { diskProblem } from './disk-problem.js';
import { HttpError } from './http-error.js';
import { isTrusted, notebookFromDisk, notebookFromPage, notebookToDisk } from './notebook-on-disk.js';
import { readPlainFile } from './read-plain-file.js';
import { isServedName, type ServedFolder } from './served-folder.js';
import type { Signatures } from './signatures.js';

/** What to save, as the page sends it. */
export interface SaveRequest {
  readonly type?: unknown;
  readonly format?: unknown;
  readonly content?: unknown;
  /** Hash of the file the page believes to replace; another one on disk is never overwritten. */
  readonly expected_hash?: unknown;
}

const nameOnly: ContentsQuery = { content: false, hash: false, format: null };

/** Files and notebooks of the served folder: read, save, create, copy, rename, delete. */
export class Contents {
  readonly #folder: ServedFolder;
  readonly #signatures: Signatures;
  readonly #emptyNotebook: Notebook;
  /** Changes of one file come one after the other. */
  readonly #turns = new Map<string, Promise<unknown>>();

  constructor(folder: ServedFolder, signatures: Signatures, emptyNotebook: Notebook) {
    this.#folder = folder;
    this.#signatures = signatures;
    this.#emptyNotebook = emptyNotebook;
  }

  async get(path: string, query: ContentsQuery): Promise<ContentsModel> {
    const place = await this.#folder.resolve(path);
    const { relative } = place;
    try {
      return await this.#folder.at(place, (full) => this.#modelOf(full, relative, query));
    } catch (problem) {
      throw diskProblem(problem, relative);
    }
  }

  async #modelOf(full: string, relative: string, query: ContentsQuery): Promise<ContentsModel> {
    const info = await lstat(full);
    const isFolder = info.isDirectory();
    if (!isFolder && !info.isFile())
      throw new HttpError(400, `“${relative}” is neither a file nor a folder.`);
    const isNotebook = !isFolder && relative.endsWith('.ipynb');
    const model: ContentsModel = {
      name: basename(relative),
      path: relative,
      type: isFolder ? 'directory' : isNotebook ? 'notebook' : 'file',
      created: info.birthtime.toISOString(),
      last_modified: info.mtime.toISOString(),
      writable: await isWritable(full),
      size: isFolder ? null : info.size,
      mimetype: null,
      format: null,
      content: null,
    };
    if (isFolder) return query.content ? await this.#withEntries(model, full) : model;
    if (!query.content && !query.hash) return model;
    const bytes = await readPlainFile(full, relative);
    const hashed = query.hash ? { ...model, ...hashOf(bytes) } : model;
    if (!query.content) return hashed;
    return isNotebook && query.format !== 'text' && query.format !== 'base64'
      ? await this.#withNotebook(hashed, bytes)
      : withBytes(hashed, bytes, query.format);
  }

  /** Replaces a file, or makes it. Refuses with 409 if it is not what the page believes it to be. */
  async save(path: string, request: SaveRequest): Promise<{ model: ContentsModel; created: boolean }> {
    requireNames(path);
    const place = await this.#folder.resolve(path);
    const { relative } = place;
    if (relative === '') throw new HttpError(400, 'The folder itself cannot be saved.');
    const { expected_hash: expected } = request;
    // A hash that cannot be compared must not pass for none: the file would be written over unseen.
    if (expected !== undefined && expected !== null && typeof expected !== 'string')
      throw new HttpError(400, 'The expected hash must be a text.');
    return this.#inTurn(place.full, async () => {
      try {
        const created = await this.#folder.at(place, async (full) => {
          const there = await readPlainFile(full, relative).catch((problem: NodeJS.ErrnoException) => {
            if (problem.code === 'ENOENT') return undefined;
            if (problem.code === 'EISDIR' && request.type === 'directory') return undefined;
            throw problem;
          });
          if (there !== undefined && typeof expected === 'string' && hashOf(there).hash !== expected)
            throw new HttpError(409, `“${relative}” was changed on disk in the meantime; nothing was saved.`);
          await this.#write(full, relative, request);
          return there === undefined;
        });
        const asked = { content: false, hash: request.type !== 'directory', format: null };
        return { model: await this.get(path, asked), created };
      } catch (problem) {
        throw diskProblem(problem, relative);
      }
    });
  }

  /** A new notebook, text or folder under a name that is free, or a copy of a file. */
  async create(
    folder: string,
    request: { readonly type?: unknown; readonly ext?: unknown; readonly copyFrom?: unknown },
  ): Promise<ContentsModel> {
    const { relative } = await this.#folder.resolve(folder);
    const inFolder = (name: string): string => (relative === '' ? name : `${relative}/${name}`);
    if (typeof request.copyFrom === 'string') {
      const source = await this.#folder.resolve(request.copyFrom);
      const extension = extname(source.relative);
      const stem = `${basename(source.relative, extension)}-copy`;
      return this.#underFreeName(
        (count) => inFolder(`${stem}${count}${extension}`),
        async (full) => {
          await this.#folder.at(source, async (original) => {
            if (!(await lstat(original)).isFile())
              throw new HttpError(400, `“${source.relative}” is no file that could be copied.`);
            await copyFile(original, full, constants.COPYFILE_EXCL);
          });
        },
      );
    }
    if (request.type === 'directory')
      return this.#underFreeName(
        (count) => inFolder(`folder${count}`),
        async (full) => {
          await mkdir(full);
        },
      );
    const isNotebook = request.type === 'notebook';
    const extension = isNotebook ? '.ipynb' : typeof request.ext === 'string' ? request.ext : '.txt';
    return this.#underFreeName(
      (count) => inFolder(`untitled${count}${extension}`),
      async (full) => {
        const text = isNotebook ? notebookToDisk(this.#emptyNotebook) : '';
        await writeNew(full, text);
        if (isNotebook) await this.#signatures.add(text);
      },
    );
  }

  async rename(path: string, newPath: unknown): Promise<ContentsModel> {
    if (typeof newPath !== 'string' || newPath === '') throw new HttpError(400, 'The new name is missing.');
    requireNames(newPath);
    const [from, to] = [await this.#folder.resolveName(path), await this.#folder.resolveName(newPath)];
    if (from.relative === '' || to.relative === '')
      throw new HttpError(400, 'The folder itself cannot be renamed.');
    await access(dirname(to.full)).catch(() => {
      throw new HttpError(404, `The folder of “${to.relative}” is not there: make it first.`);
    });
    // Where the disk takes both cases of a letter for one, a new case is found taken by the file itself.
    const mayBeItself = sameLetters(from.full, to.full);
    const move = async (old: string, wanted: string): Promise<void> => {
      const own = await lstat(old);
      const taken = await lstat(wanted).catch(() => undefined);
      const isItself = taken?.ino === own.ino && taken.dev === own.dev && mayBeItself;
      if (taken !== undefined && !isItself) throw new HttpError(409, `“${to.relative}” exists already.`);
      await rename(old, wanted).catch((problem: unknown) => {
        throw diskProblem(problem, to.relative);
      });
    };
    await this.#inTurn(to.full, () =>
      this.#folder
        .at(from, (old) =>
          this.#folder
            .at(to, (wanted) => move(old, wanted))
            .catch((problem: unknown) => {
              throw diskProblem(problem, to.relative);
            }),
        )
        .catch((problem: unknown) => {
          throw diskProblem(problem, from.relative);
        }),
    );
    return this.get(newPath, nameOnly);
  }

  /** Deletes a file, or a folder that is empty. */
  async delete(path: string): Promise<void> {
    const place = await this.#folder.resolveName(path);
    const { relative } = place;
    if (relative === '') throw new HttpError(400, 'The folder itself cannot be deleted.');
    try {
      await this.#folder.at(place, async (full) => {
        const info = await lstat(full);
        await (info.isDirectory() ? rmdir(full) : rm(full));
      });
    } catch (problem) {
      throw diskProblem(problem, relative);
    }
  }

  /** The bytes of a file, for pictures and downloads. */
  async bytes(path: string): Promise<Buffer> {
    const place = await this.#folder.resolve(path);
    const { relative } = place;
    try {
      return await this.#folder.at(place, (full) => readPlainFile(full, relative));
    } catch (problem) {
      throw diskProblem(problem, relative);
    }
  }

  async #write(full: string, relative: string, request: SaveRequest): Promise<void> {
    const { type, format, content } = request;
    if (type === 'directory') {
      await mkdir(full, { recursive: true });
    } else if (type === 'notebook') {
      const notebook = readable(() => notebookFromPage(content, relative), relative);
      const text = notebookToDisk(notebook);
      // Signed first: a crash between the two must not leave one's own notebook without trust.
      if (isTrusted(notebook)) await this.#signatures.add(text);
      await writeAtomically(full, text);
    } else if (type === 'file' || type === undefined) {
      if (typeof content !== 'string') throw new HttpError(400, 'The content of the file is missing.');
      await writeAtomically(full, format === 'base64' ? bytesOfBase64(content) : content);
    } else throw new HttpError(400, 'The type must be notebook, file or directory.');
  }

  async #underFreeName(
    nameFor: (count: string) => string,
    make: (full: string) => Promise<unknown>,
  ): Promise<ContentsModel> {
    for (let count = 1; ; count += 1) {
      const path = nameFor(count === 1 ? '' : `-${count}`);
      const place = await this.#folder.resolve(path);
      try {
        await this.#folder.at(place, make);
      } catch (problem) {
        if ((problem as NodeJS.ErrnoException).code === 'EEXIST') continue;
        throw diskProblem(problem, path);
      }
      return this.get(path, nameOnly);
    }
  }

  async #withEntries(model: ContentsModel, full: string): Promise<ContentsModel> {
    const names = (await readdir(full)).filter((name) => isServedName(name)).sort(byName);
    const entries = await Promise.all(
      names.map((name) =>
        // A link that leads out, or a file that is gone by now, is left out.
        this.get(model.path === '' ? name : `${model.path}/${name}`, nameOnly).catch(() => undefined),
      ),
    );
    return { ...model, format: 'json', content: entries.filter((entry) => entry !== undefined) };
  }

  async #withNotebook(model: ContentsModel, bytes: Buffer): Promise<ContentsModel> {
    const text = bytes.toString('utf8');
    const trusted = await this.#signatures.has(text);
    const content = readable(() => notebookFromDisk(text, model.path, trusted), model.path);
    return { ...model, format: 'json', content };
  }

  #inTurn<Result>(full: string, task: () => Promise<Result>): Promise<Result> {
    const turn = (this.#turns.get(full) ?? Promise.resolve()).then(task, task);
    this.#turns.set(full, turn);
    const forget = (): void => {
      if (this.#turns.get(full) === turn) this.#turns.delete(full);
    };
    turn.then(forget, forget);
    return turn;
  }
}

/** What a person typed for a name is answered in words of names; `resolve` says of all that it refuses that it is not there. */
function requireNames(path: string): void {
  const refused = path.split('/').find((name) => name !== '' && !isServedName(name));
  if (refused === undefined) return;
  throw new HttpError(
    400,
    `“${refused}” cannot be a name here: names begin without a dot and hold no backslash or invisible character, and some belong to the system.`,
  );
}

/** As people count: `run-2` before `run-10`, and `run` before `run-2`. */
function byName(a: string, b: string): number {
  const [left, right] = [basename(a, extname(a)), basename(b, extname(b))];
  return left.localeCompare(right, 'en', { numeric: true }) || a.localeCompare(b, 'en');
}

function sameLetters(a: string, b: string): boolean {
  return a.normalize().toLowerCase() === b.normalize().toLowerCase();
}

function readable(read: () => Notebook, name: string): Notebook {
  try {
    return read();
  } catch (problem) {
    const why =
      problem instanceof RangeError
        ? 'It is nested too deeply.'
        : problem instanceof Error
          ? problem.message
          : '';
    throw new HttpError(400, `“${name}” is no notebook that can be shown. ${why}`);
  }
}

/** What is no base64 would be left out silently. */
function bytesOfBase64(text: string): Buffer {
  const bytes = Buffer.from(text, 'base64');
  if (bytes.length !== Buffer.byteLength(text, 'base64'))
    throw new HttpError(400, 'The content of the file is not valid base64; nothing was saved.');
  return bytes;
}

function withBytes(model: ContentsModel, bytes: Buffer, format: string | null): ContentsModel {
  const text = format === 'base64' ? undefined : utf8TextOf(bytes);
  return {
    ...model,
    type: 'file',
    mimetype: text === undefined ? 'application/octet-stream' : 'text/plain',
    format: text === undefined ? 'base64' : 'text',
    content: text ?? bytes.toString('base64'),
  };
}

function utf8TextOf(bytes: Buffer): string | undefined {
  try {
    return new TextDecoder('utf-8', { fatal: true, ignoreBOM: true }).decode(bytes);
  } catch {
    return undefined;
  }
}

function hashOf(bytes: Uint8Array): { readonly hash: string; readonly hash_algorithm: 'sha256' } {
  return { hash: createHash('sha256').update(bytes).digest('hex'), hash_algorithm: 'sha256' };
}

/** A file is replaced by renaming, so what counts is also whether its folder can be written. */
async function isWritable(full: string): Promise<boolean> {
  return Promise.all([access(full, constants.W_OK), access(dirname(full), constants.W_OK)]).then(
    () => true,
    () => false,
  );
}
