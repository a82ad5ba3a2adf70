import { runInNewContext } from 'node:vm';
import { describe, expect, it } from 'vitest';
import { figureOfComparison } from '../../../../toolkit/figures/figure-of-comparison.js';
import { plotlyMimeType } from '../../../../toolkit/notebook/display/display-bundle.js';
import { figureHtml, libraryHtml } from '../../../../toolkit/notebook/display/display-figure.js';
import { LibraryCarrier } from '../../../../toolkit/notebook/display/display-library.js';
import type { KernelOutput } from '../../../../toolkit/notebook/kernel/messages/outputs.js';
import { coolerModel } from '../../figures/puppet-theatre.js';

const figure = (): KernelOutput => ({
  output_type: 'display_data',
  data: { [plotlyMimeType]: {}, 'text/html': '<p>figure</p>' },
  metadata: {},
});
const htmlOf = (output: KernelOutput): unknown => 'data' in output && output.data['text/html'];

describe('the drawing library', () => {
  it('goes with the first figure only, and again when its cell is run again', () => {
    const carrier = new LibraryCarrier(() => 'LIBRARY');
    const text: KernelOutput = { output_type: 'stream', name: 'stdout', text: 'x' };
    expect(carrier.carry(text, 'a', '1')).toBe(text);
    expect(htmlOf(carrier.carry(figure(), 'a', '1'))).toBe('<p>figure</p>\nLIBRARY');
    expect(htmlOf(carrier.carry(figure(), 'a', '1'))).toBe('<p>figure</p>');
    expect(htmlOf(carrier.carry(figure(), 'b', '2'))).toBe('<p>figure</p>');
    expect(htmlOf(carrier.carry(figure(), 'a', '3'))).toBe('<p>figure</p>\nLIBRARY');
    expect(htmlOf(carrier.carry(figure(), 'a', '3'))).toBe('<p>figure</p>');
  });

  it('is 2 MB in a notebook', () => {
    const html = String(htmlOf(new LibraryCarrier().carry(figure(), 'a', '1')));
    expect(html).toContain('DecompressionStream');
    expect(html.length).toBeGreaterThan(1e6);
    expect(html.length).toBeLessThan(2.2e6);
  });
});

describe('the HTML of a figure', () => {
  const html = figureHtml(figureOfComparison([coolerModel({ cooler: '</script><b>x' }), coolerModel()]));
  const scriptIn = (text: string): string => /<script>([\s\S]*)<\/script>/.exec(text)?.[1] ?? '';

  it('holds the still picture, the numbers, and one script that no name can end', () => {
    expect(html).toContain('src="data:image/svg+xml;base64,');
    expect(html).toContain('<details><summary>The picture in words and numbers</summary>');
    expect(html.match(/<\/script>/g)).toHaveLength(1);
    expect(html).not.toContain('<b>x');
  });

  it('draws in its own place as soon as the library is there, whichever comes first', async () => {
    for (const libraryFirst of [true, false]) {
      const drawn: string[] = [];
      const listeners: (() => void)[] = [];
      const place = { dataset: {} as Record<string, string>, replaceChildren: () => drawn.push('placed') };
      const window: Record<string, unknown> = {
        addEventListener: (_: string, listener: () => void) => listeners.push(listener),
        dispatchEvent: () => {
          for (const listener of listeners) listener();
        },
      };
      const context = {
        window,
        document: { getElementById: () => place, createElement: () => ({}) },
      };
      let buttons: unknown[] = [];
      const plotly = {
        Icons: { camera: 'camera', disk: 'disk' },
        newPlot: async (
          _: unknown,
          data: unknown[],
          __: unknown,
          config: {
            readonly modeBarButtonsToAdd: readonly { readonly title: string; readonly icon: string }[];
          },
        ) => {
          buttons = config.modeBarButtonsToAdd.map(({ title, icon }) => [title, icon]);
          drawn.push(`${data.length} lines`);
        },
        Plots: { resize: () => drawn.push('resized') },
      };
      const bring = (): void => {
        window['kelvinPerWattPlotly'] = Promise.resolve(plotly);
        (window['dispatchEvent'] as () => void)();
      };
      if (libraryFirst) bring();
      runInNewContext(scriptIn(html), context);
      if (!libraryFirst) bring();
      await new Promise((done) => setTimeout(done, 5));
      expect(drawn.slice(1)).toEqual(['placed', 'resized']);
      expect(drawn[0]).toMatch(/^\d+ lines$/);
      expect(buttons).toEqual([
        ['Save the picture as PNG', 'camera'],
        ['Save the picture as SVG', 'disk'],
      ]);
    }
  });

  it('and of the library hold scripts that parse', () => {
    for (const text of [html, libraryHtml('QUJD')])
      expect(() => runInNewContext(`() => {\n${scriptIn(text)}\n}`)).not.toThrow();
  });
});
