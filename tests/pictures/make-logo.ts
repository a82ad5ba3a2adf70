// `npm run logo`: the kernel's logo in the two sizes that Jupyter shows, from its drawing.
import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { readScriptOptions, runScript } from '../../toolkit/notebook/commands/script-options.js';
import { launchBrowser } from '../browser/browser.js';

const folder = fileURLToPath(new URL('../../../toolkit/notebook/jupyter/', import.meta.url));
const sizesPx = [32, 64];

async function main(): Promise<undefined> {
  const options = readScriptOptions(process.argv.slice(2), {
    script: 'npm run logo',
    about:
      'Draws the kernel’s logo, toolkit/notebook/jupyter/logo.svg, in the sizes that Jupyter shows. A few seconds.',
  });
  if (options === undefined) return;
  const drawing = await readFile(join(folder, 'logo.svg'), 'utf8');
  const { browser, close } = await launchBrowser();
  try {
    for (const sizePx of sizesPx) {
      const page = await browser.newPage({ viewport: { width: sizePx, height: sizePx } });
      await page.setContent(
        `<style>body { margin: 0; background: transparent } svg { display: block; width: 100vw }</style>${drawing}`,
      );
      const path = join(folder, `logo-${sizePx}x${sizePx}.png`);
      await page.screenshot({ path, omitBackground: true });
      console.log(`wrote ${path}`);
    }
  } finally {
    await close();
  }
}

runScript(main);
