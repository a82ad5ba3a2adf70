import { imageButtons } from './image-buttons.js';

/**
 * What a report page does by itself: unpacks Plotly, draws the figures, follows the reader's theme, and draws
 * them in light colours and in the paper's width for printing. Where that fails the still pictures stay on the page,
 * with the reason above them.
 */
export const pageScript: string = `
(() => {
  'use strict';
  const dataOf = (id) => JSON.parse(document.getElementById(id).textContent);
  const figures = dataOf('figure-data');
  const twins = new Map(Object.entries(dataOf('dark-twins')));
  const dark = window.matchMedia('(prefers-color-scheme: dark)');
  const paperWidthPx = 660;
  const withImageButtons = ${imageButtons};

  const darkened = (text) =>
    twins.get(text) ??
    text.replace(/(<span style="[^"]*color:)(#[0-9a-f]{6})/g, (_, before, colour) => before + (twins.get(colour) ?? colour));
  const copyOf = (figure, isDark) =>
    JSON.parse(JSON.stringify(figure), (_, value) => (isDark && typeof value === 'string' ? darkened(value) : value));

  const draw = (onPaper) => {
    figures.forEach((figure, index) => {
      const place = document.getElementById('figure-' + (index + 1));
      const { data, layout } = copyOf(figure, dark.matches && !onPaper);
      if (onPaper) layout.width = paperWidthPx;
      layout.autosize = !onPaper;
      const still = place.querySelector('.still');
      if (still !== null) still.remove();
      place.setAttribute('role', 'img');
      place.setAttribute('aria-label', layout.meta.title + '. ' + layout.meta.description);
      window.Plotly.react(place, data, layout, withImageButtons(window.Plotly, figure));
    });
  };

  const fail = (reason) => {
    document.documentElement.classList.remove('scripted');
    for (const still of document.querySelectorAll('.still')) {
      const message = document.createElement('p');
      message.className = 'message';
      message.textContent = 'The picture could not be drawn: ' + reason;
      still.prepend(message);
    }
  };

  const unpack = async () => {
    const packed = document.getElementById('plotly-gzip');
    if (packed === null) return;
    if (typeof DecompressionStream !== 'function') throw new Error('this browser is too old to unpack it');
    const bytes = Uint8Array.from(atob(packed.textContent), (character) => character.charCodeAt(0));
    const stream = new Blob([bytes]).stream().pipeThrough(new DecompressionStream('gzip'));
    const library = document.createElement('script');
    library.textContent = await new Response(stream).text();
    document.head.append(library);
    packed.remove();
  };

  unpack()
    .then(() => {
      if (typeof window.Plotly !== 'object') throw new Error('the drawing library is not in this page');
      draw(false);
      dark.addEventListener('change', () => draw(false));
      window.addEventListener('beforeprint', () => draw(true));
      window.addEventListener('afterprint', () => draw(false));
      document.documentElement.dataset.drawn = 'true';
    })
    .catch((reason) => fail(reason instanceof Error ? reason.message : String(reason)));
})();
`;
