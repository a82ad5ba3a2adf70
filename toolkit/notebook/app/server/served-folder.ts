import { realpath } from 'node:fs/promises';
import { basename, dirname, join, sep } from 'node:path';
import { inHeldFolder } from './held-folder.js';
import { HttpError } from './http-error.js';

/** A place in the served folder. */
export interface ServedPath {
  /** On disk, links followed. */
  readonly full: string;
  /** In requests: from the served folder, with forward slashes; empty for the folder itself. */
  readonly relative: string;
}

/**
 * The folder whose notebooks and logs the page shows. Nothing outside it is read or written: no `..`, no hidden names,
 * no links that lead out of it.
 */
export class ServedFolder {
  readonly root: string;

  private constructor(root: string) {
    this.root = root;
  }

  static async at(folder: string): Promise<ServedFolder> {
    return new ServedFolder(await realpath(folder));
  }

  /** Where a path of a request leads; the file itself need not exist. Throws `HttpError` 404 for all that is refused. */
  async resolve(path: string): Promise<ServedPath> {
    const names = path.split('/').filter((name) => name !== '');
    if (!names.every((name) => isServedName(name))) throw notThere(path);
    let existing = join(this.root, ...names);
    const missing: string[] = [];
    for (;;) {
      const real = await realpath(existing).catch((problem: NodeJS.ErrnoException) => {
        if (problem.code === 'ENOENT') return undefined;
        throw problem.code === 'ENAMETOOLONG' ? new HttpError(400, 'The name is too long.') : notThere(path);
      });
      if (real !== undefined) {
        if (real !== this.root && !real.startsWith(this.root + sep)) throw notThere(path);
        const inside = real.slice(this.root.length).split(sep).filter(Boolean);
        // A link inside the folder may lead to a hidden place inside it.
        if (!inside.every((name) => isServedName(name))) throw notThere(path);
        return { full: join(real, ...missing), relative: names.join('/') };
      }
      if (existing === this.root)
        throw new HttpError(404, `The folder “${basename(this.root)}” is not there any more.`);
      missing.unshift(names.at(-1 - missing.length)!);
      existing = dirname(existing);
    }
  }

  /** Works on a place, with its folder held; see `inHeldFolder`. */
  at<Result>({ full }: ServedPath, use: (held: string) => Promise<Result>): Promise<Result> {
    return full === this.root ? use(full) : inHeldFolder(full, use);
  }

  /** Where the name itself stands, to rename or delete it: of a link the link, not what it leads to. */
  async resolveName(path: string): Promise<ServedPath> {
    const { relative, full } = await this.resolve(path);
    if (relative === '') return { full, relative };
    const folder = await this.resolve(relative.split('/').slice(0, -1).join('/'));
    return { full: join(folder.full, basename(relative)), relative };
  }
}

/** Names that Windows takes for a device in whatever folder, with any extension. */
const deviceName = /^(?:con|prn|aux|nul|conin\$|conout\$|(?:com|lpt)[0-9\u00b9\u00b2\u00b3])\s*(?:\.|$)/i;

/** Whether a file or folder of this name is shown and may be written. */
export function isServedName(name: string, platform: NodeJS.Platform = process.platform): boolean {
  return (
    name !== '' &&
    !name.startsWith('.') &&
    name !== 'node_modules' &&
    // biome-ignore lint/suspicious/noControlCharactersInRegex: control characters are what is refused here
    !/[\\\u0000-\u001f\u007f]/.test(name) &&
    // Drives and alternate streams of Windows.
    !(platform === 'win32' && (/[:*?"<>|]|[. ]$/.test(name) || deviceName.test(name))) &&
    !/^[a-z]:$/i.test(name)
  );
}

function notThere(path: string): HttpError {
  return new HttpError(404, `There is no “${path}” here.`);
}
