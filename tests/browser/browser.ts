import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Browser } from 'playwright-core';

/**
 * A headless Chromium from the installed packages. Its own copies of the libraries that a bare machine lacks unpack only
 * into an empty folder and with the variable set below.
 */
export async function launchBrowser(): Promise<{ readonly browser: Browser; close(): Promise<void> }> {
  const folder = await mkdtemp(join(tmpdir(), 'kpw-chromium-'));
  const before = { TMPDIR: process.env['TMPDIR'], runtime: process.env['AWS_LAMBDA_JS_RUNTIME'] };
  process.env['TMPDIR'] = folder;
  process.env['AWS_LAMBDA_JS_RUNTIME'] = 'nodejs20.x';
  try {
    const [{ default: chromiumFiles }, { chromium }] = await Promise.all([
      import('@sparticuz/chromium'),
      import('playwright-core'),
    ]);
    const executablePath = await chromiumFiles.executablePath();
    // The fonts that come along are looked for at a fixed place, which is not where they were unpacked.
    await writeFile(
      join(folder, 'fonts.conf'),
      `<?xml version="1.0"?><fontconfig><dir>${folder}/fonts</dir><dir>/usr/share/fonts</dir><cachedir>${folder}/font-cache</cachedir></fontconfig>`,
    );
    const browser = await chromium.launch({
      executablePath,
      args: ['--no-sandbox', '--disable-gpu', '--no-zygote', '--disable-dev-shm-usage'],
      headless: true,
      env: { ...definedOf(process.env), FONTCONFIG_PATH: folder },
    });
    return {
      browser,
      async close() {
        await browser.close();
        await rm(folder, { recursive: true, force: true });
      },
    };
  } finally {
    restore('TMPDIR', before.TMPDIR);
    restore('AWS_LAMBDA_JS_RUNTIME', before.runtime);
  }
}

function restore(name: string, value: string | undefined): void {
  if (value === undefined) delete process.env[name];
  else process.env[name] = value;
}

function definedOf(environment: NodeJS.ProcessEnv): Record<string, string> {
  return Object.fromEntries(
    Object.entries(environment).filter((entry): entry is [string, string] => entry[1] !== undefined),
  );
}
