import { randomUUID } from 'node:crypto';
import type { Figure } from '../../figures/figure.js';
import { scriptJson } from '../../report/html-text.js';
import { imageButtons } from '../../report/page/image-buttons.js';
import { figureInWords } from '../../report/still/still-figure.js';
import { stillImage } from '../../report/still/still-picture.js';

/** Where scripts of figures meet the drawing library, whichever of the two comes first. */
const libraryName = 'kelvinPerWattPlotly';

/**
 * A figure as HTML: a still picture and its numbers, which every viewer shows, and a script that replaces the picture
 * by a live one where scripts run and the notebook holds the drawing library.
 */
export function figureHtml(figure: Figure): string {
  const id = `figure-${randomUUID()}`;
  return `<div id="${id}"><div>${stillImage(figure)}</div></div>
${figureInWords(figure)}
<script>${drawingScript(id, figure)}</script>`;
}

function drawingScript(id: string, figure: Figure): string {
  return `(() => {
  const figure = ${scriptJson(figure)};
  const withImageButtons = ${imageButtons};
  const draw = (Plotly) => {
    const place = document.getElementById('${id}');
    if (place === null || place.dataset.drawn === 'true') return;
    place.dataset.drawn = 'true';
    const live = document.createElement('div');
    Plotly.newPlot(live, figure.data, { ...figure.layout, autosize: true }, withImageButtons(Plotly, figure)).then(() => {
      place.replaceChildren(live);
      Plotly.Plots.resize(live);
    });
  };
  if (window.${libraryName} === undefined)
    window.addEventListener('${libraryName}', () => window.${libraryName}.then(draw), { once: true });
  else window.${libraryName}.then(draw);
})();`;
}

/** The drawing library as HTML: 2 MB, wanted once in a notebook whose viewer does not bring it. */
export function libraryHtml(gzipBase64: string): string {
  return `<script>window.${libraryName} ??= (async () => {
  const packed = '${gzipBase64}';
  const bytes = Uint8Array.from(atob(packed), (character) => character.charCodeAt(0));
  const stream = new Blob([bytes]).stream().pipeThrough(new DecompressionStream('gzip'));
  const library = document.createElement('script');
  library.textContent = await new Response(stream).text();
  document.head.append(library);
  return window.Plotly;
})();
window.dispatchEvent(new Event('${libraryName}'));</script>`;
}
