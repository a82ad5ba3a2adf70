// `npm run build:panel`: the script of the panels, one file with the parts of the toolkit that it needs.
import { fileURLToPath } from 'node:url';
import { build } from 'esbuild';

// Its module sources instead of its single file: what is not used stays out.
const matrixLibrary = fileURLToPath(new URL('./src/index.js', import.meta.resolve('ml-matrix')));

await build({
  entryPoints: [fileURLToPath(new URL('./panel-page.js', import.meta.url))],
  outfile: fileURLToPath(new URL('./panel-script.js', import.meta.url)),
  bundle: true,
  alias: { 'ml-matrix': matrixLibrary },
  minify: true,
  format: 'iife',
  target: 'es2020',
  charset: 'ascii', // whatever a viewer takes the page's encoding for
  legalComments: 'inline',
  logLevel: 'warning',
});
