import { resolve } from 'node:path';
import { pathToFileURL } from 'node:url';
import type { runReport as RunReport } from '../../toolkit/notebook/commands/report-command.js';
import type { displayBundles as DisplayBundles } from '../../toolkit/notebook/display/display-bundle.js';
import type { LibraryCarrier as Carrier } from '../../toolkit/notebook/display/display-library.js';

type Toolkit = typeof import('../../toolkit/node.js');

const built = async <Module>(path: string): Promise<Module> =>
  (await import(pathToFileURL(resolve('dist/toolkit', path)).href)) as Module;

/** The built toolkit, whose pages hold the bundled script of the panels. */
export const kpw: Toolkit = await built<Toolkit>('node.js');

/** What of it makes outputs and pages. */
export async function builtToolkit(): Promise<{
  readonly displayBundles: typeof DisplayBundles;
  readonly LibraryCarrier: typeof Carrier;
  readonly runReport: typeof RunReport;
}> {
  const { displayBundles } = await built<{ displayBundles: typeof DisplayBundles }>(
    'notebook/display/display-bundle.js',
  );
  const { LibraryCarrier } = await built<{ LibraryCarrier: typeof Carrier }>(
    'notebook/display/display-library.js',
  );
  const { runReport } = await built<{ runReport: typeof RunReport }>('notebook/commands/report-command.js');
  return { displayBundles, LibraryCarrier, runReport };
}
