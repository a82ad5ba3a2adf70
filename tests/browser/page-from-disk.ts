import { mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import type { BrowserContext, BrowserContextOptions, Page } from 'playwright-core';
import { launchBrowser } from './browser.js';
import { builtToolkit } from './built-toolkit.js';

const { displayBundles, runReport } = await builtToolkit();

/** A text that would run if it were taken for markup. */
export const hostile = '</script><script>hacked = 1</script><img src=x onerror="hacked=1">\'&';

/** A page opened from the disk, with the network off. */
export interface PageFromDisk {
  /** The report page itself, as text. */
  readonly html: string;
  readonly folder: string;
  /** What went wrong in any of its windows: errors on the console, exceptions, anything that was to be loaded. */
  readonly problems: string[];
  open(
    options?: BrowserContextOptions,
    prepare?: (context: BrowserContext) => Promise<unknown>,
  ): Promise<Page>;
  close(): Promise<void>;
}

/** Puts Markdown texts and values as the outputs of cells into a notebook, and makes the page of it by the command. */
export async function reportFromDisk(
  parts: readonly (string | { readonly value: unknown } | { readonly bundle: object })[],
): Promise<PageFromDisk> {
  const folder = await mkdtemp(join(tmpdir(), 'kpw-page-'));
  const cells = parts.map((part) =>
    typeof part === 'string'
      ? { cell_type: 'markdown', metadata: {}, source: part }
      : {
          cell_type: 'code',
          metadata: {},
          source: '"not shown"',
          execution_count: 1,
          outputs: ('bundle' in part ? [part.bundle] : displayBundles(part.value)).map((data) => ({
            output_type: 'display_data',
            metadata: {},
            data,
          })),
        },
  );
  const notebook = { nbformat: 4, nbformat_minor: 5, metadata: {}, cells };
  await writeFile(join(folder, 'page.ipynb'), JSON.stringify(notebook));
  const printed: string[] = [];
  const exitCode = await runReport(['page.ipynb', '--as-saved', '--figures', 'pictures'], {
    typedIn: folder,
    environment: {},
    print: (line) => printed.push(line),
    printError: (line) => printed.push(line),
  });
  if (exitCode !== 0) throw new Error(printed.join('\n'));
  const { browser, close } = await launchBrowser();
  const problems: string[] = [];
  const address = pathToFileURL(join(folder, 'page.html')).href;
  return {
    html: await readFile(join(folder, 'page.html'), 'utf8'),
    folder,
    problems,
    async open(options = {}, prepare) {
      const context = await browser.newContext({
        viewport: { width: 1280, height: 900 },
        offline: true,
        acceptDownloads: true,
        ...options,
      });
      await prepare?.(context);
      const page = await context.newPage();
      page.setDefaultTimeout(30_000);
      page.on('console', (message) => {
        if (['error', 'warning'].includes(message.type())) problems.push(`console: ${message.text()}`);
      });
      page.on('pageerror', (problem) => problems.push(`exception: ${problem.message}`));
      page.on('request', (request) => {
        if (request.url() !== address && !/^(?:data|blob):/.test(request.url()))
          problems.push(`asked for ${request.url()}`);
      });
      await page.goto(address);
      return page;
    },
    async close() {
      await close();
      await rm(folder, { recursive: true, force: true });
    },
  };
}
