import { readFile } from 'node:fs/promises';
import { extname, join } from 'node:path';
import { HttpError } from './http-error.js';

const types: Readonly<Record<string, string>> = {
  '.js': 'text/javascript; charset=utf-8',
  '.css': 'text/css; charset=utf-8',
  '.svg': 'image/svg+xml',
  '.png': 'image/png',
  '.woff': 'font/woff',
  '.woff2': 'font/woff2',
  '.ttf': 'font/ttf',
  '.txt': 'text/plain; charset=utf-8',
};

/** A file of the built page with its headers; only plain names and the folders of the build are known. */
export async function pageFile(
  pageFolder: string,
  path: string,
): Promise<{ readonly bytes: Buffer; readonly headers: Readonly<Record<string, string>> }> {
  const type = types[extname(path)];
  const isPlain = path.split('/').every((name) => /^[\w-][\w.-]*$/.test(name));
  const bytes =
    isPlain && type !== undefined ? await readFile(join(pageFolder, path)).catch(() => undefined) : undefined;
  if (bytes === undefined || type === undefined) throw new HttpError(404, 'The page has no such file.');
  // Names of chunks hold a hash of their content.
  const isHashed = /-[A-Z0-9]{8}\.\w+$/.test(path);
  return {
    bytes,
    headers: {
      'Content-Type': type,
      'Cache-Control': isHashed ? 'private, max-age=31536000, immutable' : 'no-cache',
    },
  };
}
