import { createHmac, randomBytes } from 'node:crypto';
import { appendFile, mkdir, readFile, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { writeAtomically } from './atomic-write.js';

const mostSignatures = 20_000;

/**
 * Remembers which notebook files were saved here, by a person who saw them run: their outputs may run scripts when they
 * are opened again. A file from elsewhere, or changed elsewhere by a single letter, has no signature.
 *
 * Kept in a folder of the person alone: a key, and the HMAC-SHA-256 of each text under it. Where that folder cannot be
 * written, they are remembered until the server ends: a notebook is saved all the same.
 */
export class Signatures {
  readonly #folder: string;
  #key: Promise<Buffer> | undefined;
  #known: Promise<Set<string>> | undefined;

  constructor(folder: string) {
    this.#folder = folder;
  }

  async add(text: string): Promise<void> {
    const signature = await this.#sign(text);
    const known = await this.#signatures();
    if (known.has(signature)) return;
    known.add(signature);
    await this.#store(known, signature).catch(() => undefined);
  }

  async #store(known: Set<string>, signature: string): Promise<void> {
    if (known.size <= mostSignatures) {
      await appendFile(this.#listPath, `${signature}\n`, { mode: 0o600 });
      return;
    }
    const kept = [...known].slice(-mostSignatures / 2);
    known.clear();
    for (const one of kept) known.add(one);
    await writeAtomically(this.#listPath, `${kept.join('\n')}\n`);
  }

  async has(text: string): Promise<boolean> {
    return (await this.#signatures()).has(await this.#sign(text));
  }

  async #sign(text: string): Promise<string> {
    this.#key ??= this.#loadKey();
    return createHmac('sha256', await this.#key)
      .update(text)
      .digest('hex');
  }

  #signatures(): Promise<Set<string>> {
    this.#known ??= readFile(this.#listPath, 'utf8').then(
      (text) => new Set(text.split('\n').filter((line) => line !== '')),
      () => new Set(),
    );
    return this.#known;
  }

  get #listPath(): string {
    return join(this.#folder, 'signatures.txt');
  }

  async #loadKey(): Promise<Buffer> {
    const path = join(this.#folder, 'signature-key');
    const existing = await readFile(path).catch(() => undefined);
    if (existing !== undefined && existing.length >= 32) return existing;
    const key = randomBytes(64);
    try {
      await mkdir(this.#folder, { recursive: true, mode: 0o700 });
      await writeFile(path, key, { mode: 0o600, flag: 'wx' });
      return key;
    } catch {
      // Of two servers that start at once, the one that comes second takes the key of the first.
      const theirs = await readFile(path).catch(() => undefined);
      return theirs !== undefined && theirs.length >= 32 ? theirs : key;
    }
  }
}
