import { rmSync } from 'node:fs';
import { mkdtemp, writeFile } from 'node:fs/promises';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { openPage } from '../commands/open-page.js';
import { startKernelConnection } from '../kernel/start-kernel-connection.js';
import { ensurePage, pageFolder } from './build-page.js';
import { emptyNotebook } from './empty-notebook.js';
import { type AppServer, startAppServer } from './server/app-server.js';
import { userFolder } from './server/user-folder.js';

/** The first port that is tried: bookmarks go on working. */
const defaultPort = 8418;

/** What the app opens, and how. */
export interface RunAppOptions {
  /** Whose notebooks and logs it shows. */
  readonly folder: string;
  /** Notebook to open, from that folder; without it the list. */
  readonly notebook?: string;
  readonly port?: number;
  /** Whether to open the browser. */
  readonly open: boolean;
  readonly print: (line: string) => void;
  readonly printError: (line: string) => void;
}

/** Starts the app, says where it is and opens it. It runs until `close`. */
export async function runApp(options: RunAppOptions): Promise<AppServer> {
  const { print, printError } = options;
  await ensurePage(() =>
    print('Building the page of the notebook app: a few seconds, now and after its sources change.'),
  );
  const { version } = createRequire(import.meta.url)('kelvin-per-watt/package.json') as { version: string };
  const server = await startAppServer({
    folder: options.folder,
    pageFolder,
    userFolder: userFolder(),
    port: options.port ?? defaultPort,
    startKernel: startKernelConnection,
    emptyNotebook,
    version,
    onFault: (problem) =>
      printError(problem instanceof Error ? (problem.stack ?? problem.message) : String(problem)),
  });
  const link = server.link(options.notebook);
  print(`The notebook app runs for ${options.folder}`);
  print(`  ${link}`);
  const opened = options.open && (await openSecretly(link));
  print(
    `${opened ? 'It is opened in your browser.' : 'Open this link in a browser on this machine; keep it to yourself.'} Ctrl-C ends it.`,
  );
  return server;
}

/** Opens the link through a file that only this person can read: command lines are seen by everybody on a machine. */
async function openSecretly(link: string): Promise<boolean> {
  const folder = await mkdtemp(join(tmpdir(), 'kelvin-per-watt-'));
  const path = join(folder, 'open.html');
  const target = JSON.stringify(link).replaceAll('<', '\\u003c');
  await writeFile(
    path,
    `<!doctype html><meta charset="utf-8"><script>location.replace(${target})</script>\n`,
    {
      mode: 0o600,
    },
  );
  const remove = (): void => rmSync(folder, { recursive: true, force: true });
  setTimeout(remove, 60_000).unref();
  process.once('exit', remove);
  return openPage(pathToFileURL(path).href);
}
