import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { gzipSync } from 'node:zlib';
import type { PlotlySource } from './report-html.js';

let packed: PlotlySource | undefined;

/**
 * Plotly for `reportHtml`, gzipped: read from the installed plotly.js-dist-min, which cannot be imported in Node.
 * Read and packed once per process, about 0.3 s; 2 MB in each page.
 *
 * @example
 * reportHtml([], { title: 'Drawer', plotlySource: plotlySource() }).startsWith('<!doctype html>'); // => true
 */
export function plotlySource(): PlotlySource {
  packed ??= { gzipBase64: gzipSync(readFileSync(plotlyPath()), { level: 9 }).toString('base64') };
  return packed;
}

/** Where the installed `plotly.min.js` is. */
function plotlyPath(): string {
  return createRequire(import.meta.url).resolve('plotly.js-dist-min/plotly.min.js');
}
