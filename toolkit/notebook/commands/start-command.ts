import { readFile, realpath } from 'node:fs/promises';
import { basename, dirname, relative, resolve, sep } from 'node:path';
import { fileURLToPath } from 'node:url';
import { ArgumentError } from '../../errors.js';
import { runApp } from '../app/run-app.js';
import type { AppServer } from '../app/server/app-server.js';
import { writeNewNotebook } from '../app/write-new-notebook.js';
import { parseNotebook } from '../document/notebook-file.js';
import {
  type CommandOptions,
  parseCommandOptions,
  requireNothingKeptByNpm,
  startHelp,
} from './command-options.js';
import { whatLogsLeaveOpen } from './own-logs.js';
import { conditionsOf, questionOf, readingOf } from './question-of-options.js';
import { inTerminalWords } from './terminal-words.js';
import { typedLogs } from './typed-logs.js';
import { withYourLogs } from './your-logs-cell.js';

/** What the command needs from the place it runs in. */
export interface StartSurroundings {
  /** Folder the command was typed in. */
  readonly typedIn: string;
  readonly environment: Readonly<Record<string, string | undefined>>;
  readonly print: (line: string) => void;
  readonly printError: (line: string) => void;
}

const packageFolder = fileURLToPath(new URL('../../../../', import.meta.url));
const notebooksFolder = resolve(packageFolder, 'notebooks');
const templatePath = resolve(notebooksFolder, '01-from-logs-to-a-cap.ipynb');
const newNotebookName = 'from-logs-to-a-cap';

/** `npm start`: opens the notebook app. Returns the running server, or the exit code where there is none. */
export async function runStart(
  args: readonly string[],
  surroundings: StartSurroundings,
): Promise<AppServer | number> {
  try {
    requireNothingKeptByNpm('npm start', surroundings.environment);
    const options = parseCommandOptions(args, 'npm start');
    if (options.help) {
      surroundings.print(startHelp);
      return 0;
    }
    return await openApp(options, surroundings);
  } catch (error) {
    if (!(error instanceof Error) || !['ArgumentError', 'LogFormatError'].includes(error.name)) throw error;
    surroundings.printError(inTerminalWords(error.message, surroundings.typedIn));
    return 1;
  }
}

async function openApp(options: CommandOptions, surroundings: StartSurroundings): Promise<AppServer> {
  const typed = await typedLogs(options.logs, surroundings.typedIn, 'npm start');
  const logs = typed.map((path) => resolve(surroundings.typedIn, path));
  const folder = await servedFolder(options, logs, surroundings.typedIn);
  const notebook = logs.length === 0 ? undefined : await notebookOnLogs(options, logs, folder);
  return runApp({
    folder,
    ...(notebook === undefined ? {} : { notebook }),
    ...(options.port === undefined ? {} : { port: options.port }),
    open: options.open,
    print: surroundings.print,
    printError: surroundings.printError,
  });
}

/** The folder asked for, else that of the first log, else our notebooks; installed, the folder one is in. */
async function servedFolder(
  options: CommandOptions,
  logs: readonly string[],
  typedIn: string,
): Promise<string> {
  const isInstalled = packageFolder.split(sep).includes('node_modules');
  const folder =
    options.folder !== undefined
      ? resolve(typedIn, options.folder)
      : logs[0] !== undefined
        ? dirname(logs[0])
        : isInstalled
          ? typedIn
          : notebooksFolder;
  return realpath(folder).catch(() => {
    throw new ArgumentError({
      caller: 'npm start',
      argument: options.folder === undefined ? 'logs' : '--folder',
      expected: 'in a folder that exists',
      received: folder,
    });
  });
}

/** Writes a new notebook that reads the logs and decides; returns its name in the folder. */
async function notebookOnLogs(
  options: CommandOptions,
  logs: readonly string[],
  folder: string,
): Promise<string> {
  const howToRead = readingOf(options);
  const conditions = conditionsOf(options);
  const open = await whatLogsLeaveOpen(logs, conditions, howToRead);
  const real = await Promise.all(logs.map((path) => realpath(path)));
  const notebook = withYourLogs(parseNotebook(await readFile(templatePath, 'utf8'), templatePath), {
    logs: real.map((path) => relative(folder, path).replaceAll(sep, '/')),
    whatTheLogsDoNotSay: conditions,
    howToRead,
    question: { limitC: Number.NaN, ambientC: Number.NaN, ...questionOf(options) },
    open,
  });
  try {
    return basename(await writeNewNotebook(folder, newNotebookName, notebook));
  } catch (problem) {
    throw new ArgumentError({
      caller: 'npm start',
      argument: options.folder === undefined ? 'logs' : '--folder',
      expected: 'in a folder that a notebook can be written into',
      received: problem instanceof Error ? problem.message : folder,
      remedy: 'add --folder with a folder of yours',
    });
  }
}
