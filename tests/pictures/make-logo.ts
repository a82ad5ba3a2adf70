// `npm run logo`: the kernel's logo in the two sizes that Jupyter shows, from its drawing.
import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { launchBrowser } from '../browser/browser.js';

const folder = fileURLToPath(new URL('../../../toolkit/notebook/jupyter/', import.meta.url));
const sizesPx = [32, 64];

async function main(): Promise<void> {
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

main().catch((error: unknown) => {
  console.error(error instanceof Error ? error.message : String(error));
  process.exitCode = 1;
});
