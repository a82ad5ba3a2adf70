// `npm run build:panel`: the script of the panels, one file with the parts of the toolkit that it needs.
import { fileURLToPath } from 'node:url';
import { build } from 'esbuild';

await build({
  entryPoints: [fileURLToPath(new URL('./panel-page.js', import.meta.url))],
  outfile: fileURLToPath(new URL('./panel-script.js', import.meta.url)),
  bundle: true,
  minify: true,
  format: 'iife',
  target: 'es2020',
  charset: 'ascii', // whatever a viewer takes the page's encoding for
  legalComments: 'inline',
  logLevel: 'warning',
});
