import { existsSync } from 'node:fs';
import { chromium } from 'playwright-core';
import { describe, expect, it } from 'vitest';
import type { Figure, Trace } from '../../../../toolkit/figures/figure.js';
import { figureOfCapChoice } from '../../../../toolkit/figures/figure-of-cap-choice.js';
import { figureOfComparison } from '../../../../toolkit/figures/figure-of-comparison.js';
import { figureOfFit } from '../../../../toolkit/figures/figure-of-fit.js';
import { figureOfPowerCurve } from '../../../../toolkit/figures/figure-of-power-curve.js';
import { figureOfRun } from '../../../../toolkit/figures/figure-of-run.js';
import { figureOfStepResponse } from '../../../../toolkit/figures/figure-of-step-response.js';
import { figureOfStructureFunction } from '../../../../toolkit/figures/figure-of-structure-function.js';
import { panelFigure } from '../../../../toolkit/figures/panels.js';
import { stillImage, stillPicture } from '../../../../toolkit/report/still/still-picture.js';
import { capChoice, coolerModel, drawerRun, powerCurve } from '../../figures/puppet-theatre.js';

const run = drawerRun({ sampleCount: 3000 });
const figures: readonly (readonly [string, Figure])[] = [
  ['a run', figureOfRun(run)],
  ['a fit', figureOfFit(run, coolerModel())],
  ['a step response', figureOfStepResponse(coolerModel())],
  ['a structure function', figureOfStructureFunction(coolerModel())],
  ['a power curve', figureOfPowerCurve(powerCurve())],
  ['a cap', figureOfCapChoice(capChoice())],
  ['caps', figureOfComparison([capChoice(), capChoice({ cooler: 'Tower 88 mm', resistanceKPerW: 0.36 })])],
];

const trace = (parts: Partial<Trace>): Trace => ({
  type: 'scatter',
  mode: 'lines',
  name: 'a',
  x: [0, 10],
  y: [0, 10],
  ...parts,
});
const simple = (traces: readonly Trace[], scale?: 'log'): Figure =>
  panelFigure({
    title: 'Title',
    subtitle: 'Below',
    description: 'Words.',
    xTitle: 'Time, s',
    xRange: [0, 10],
    heightPx: 300,
    hovermode: 'closest',
    panels: [
      {
        yTitle: 'Temperature, °C',
        weight: 1,
        range: scale === 'log' ? [0, 2] : [0, 10],
        ...(scale === undefined ? {} : { scale }),
        traces,
      },
    ],
  });
/** Left, right, top and bottom of the only panel: the margins of `panelFigure` in a picture 760 px wide. */
const { l, r, t } = simple([]).layout.margin;
const [left, right, top, bottom] = [l, 760 - r, t, t + 300];

describe('a still picture', () => {
  it.each(figures)(
    'of %s holds its title, its axes with units and every label, the same each time',
    (_, figure) => {
      const picture = stillPicture(figure);
      expect(stillPicture(figure)).toBe(picture);
      expect(picture).toMatch(/^<svg xmlns="http:\/\/www\.w3\.org\/2000\/svg" width="760"/);
      expect(picture).not.toMatch(/NaN|undefined|Infinity/);
      const texts = [...picture.matchAll(/<text[^>]*>([^<]*)<\/text>/g)].map(([, text]) => text);
      const { layout } = figure;
      const axes = [layout.xaxis, layout.yaxis, layout.yaxis2, layout.yaxis3, layout.yaxis4];
      for (const axis of axes) if (axis?.title !== undefined) expect(texts).toContain(axis.title.text);
      for (const { text } of layout.annotations ?? []) expect(texts).toContain(text.replaceAll("'", '&#39;'));
      for (const line of layout.title.text.split('<br>'))
        expect(texts.join('\n')).toContain(line.replaceAll(/<[^>]*>/g, '').replaceAll("'", '&#39;'));
    },
  );

  it('puts points where the axes say, on linear and on logarithmic scales', () => {
    const marks = { mode: 'markers', x: [0, 5, 10], y: [0, 5, 10] } as const;
    expect(centresIn(stillPicture(simple([trace(marks)])))).toEqual([
      [left, bottom],
      [(left + right) / 2, (top + bottom) / 2],
      [right, top],
    ]);
    const decades = { ...marks, y: [1, 10, 100] };
    expect(centresIn(stillPicture(simple([trace(decades)], 'log'))).map(([, y]) => y)).toEqual([
      bottom,
      (top + bottom) / 2,
      top,
    ]);
  });

  it('leaves a gap where a value is missing, and draws nothing for what has no place', () => {
    const gap = stillPicture(simple([trace({ x: [0, 2, 4, 6, 8], y: [1, 2, null, 3, 4] })]));
    expect(gap.match(/<path d="(M[^"]*)"/)?.[1]?.match(/M/g)).toHaveLength(2);
    const below = stillPicture(simple([trace({ mode: 'markers', y: [-1, 10] })], 'log'));
    expect(centresIn(below)).toHaveLength(1);
  });

  it('keeps peaks of one sample among thousands of points', () => {
    const count = 50_000;
    const x = Array.from({ length: count }, (_, i) => (10 * i) / count);
    const y = x.map((_, i) => (i === 31_111 ? 9.5 : 1));
    const picture = stillPicture(simple([trace({ x, y })]));
    expect(picture.length).toBeLessThan(40_000);
    const peak = bottom - 0.95 * (bottom - top);
    expect(picture).toContain(` ${Math.round(peak * 10) / 10}L`);
  });

  it('shows hostile text as text', () => {
    const hostile = '</text><script>alert(1)</script>"\'&';
    const picture = stillPicture(
      panelFigure({
        title: hostile,
        subtitle: hostile,
        description: hostile,
        xTitle: hostile,
        xRange: [0, 1],
        heightPx: 200,
        hovermode: 'closest',
        panels: [
          {
            yTitle: hostile,
            weight: 1,
            range: [0, 2],
            rows: [hostile],
            traces: [trace({ line: { color: '"/><script>' } })],
            endLabels: [{ text: hostile, y: 0, color: '"><script>' }],
          },
        ],
      }),
    );
    expect(picture).not.toContain('<script');
    expect(picture.match(/&lt;script&gt;alert/gi)?.length).toBeGreaterThan(5);
  });

  it('says what is wrong with its arguments', () => {
    expect(() => stillPicture({} as Figure)).toThrow(
      /^stillPicture: `figure` must be a figure of this toolkit/,
    );
    const [[, figure]] = figures as [readonly [string, Figure]];
    expect(() => stillPicture(figure, { widthPx: 200 })).toThrow(
      'stillPicture: `widthPx` must be a width of at least 360 px (received 200)',
    );
    expect(() => stillPicture(figure, { width: 500 } as object)).toThrow(
      /`options.width` must be one of widthPx/,
    );
  });

  it('as an image element says in words what it shows', () => {
    const image = stillImage(simple([trace({})]));
    expect(image).toMatch(
      /^<img alt="Title\. Words\." style="max-width:100%;height:auto" src="data:image\/svg\+xml;base64,/,
    );
  });
});

const browser = ['/usr/bin/chromium', '/usr/bin/google-chrome'].find(existsSync);
if (browser === undefined) console.warn('skipped: no Chromium to draw still pictures with');

describe.skipIf(browser === undefined)('a still picture in a browser', () => {
  it('is drawn as an image: paper, band and line in their colours at their places', async () => {
    const figure = simple([
      trace({ x: [0, 10, 10, 0], y: [6, 6, 4, 4], fill: 'toself', fillcolor: '#00ff00', line: { width: 0 } }),
      trace({ y: [2, 2], line: { color: '#ff0000', width: 6 } }),
    ]);
    const opened = await chromium.launch({ executablePath: browser ?? '', args: ['--no-sandbox'] });
    try {
      const page = await opened.newPage();
      await page.setContent(stillImage(figure));
      const middle = (left + right) / 2 + 3; // beside the grid line
      const at = (share: number): number => bottom - share * (bottom - top);
      const places = [
        [middle, at(0.75)],
        [middle, at(0.5) + 3],
        [middle, at(0.2)],
      ];
      const colours = await page.evaluate(
        `(async () => {
          const image = document.querySelector('img');
          await image.decode();
          const canvas = document.createElement('canvas');
          [canvas.width, canvas.height] = [image.naturalWidth, image.naturalHeight];
          const context = canvas.getContext('2d');
          context.drawImage(image, 0, 0);
          return ${JSON.stringify(places)}.map(([x, y]) => [...context.getImageData(x, y, 1, 1).data].slice(0, 3));
        })()`,
      );
      expect(colours).toEqual([
        [255, 255, 255],
        [0, 255, 0],
        [255, 0, 0],
      ]);
    } finally {
      await opened.close();
    }
  });
});

function centresIn(picture: string): readonly (readonly number[])[] {
  return [...picture.matchAll(/<circle cx="([\d.]+)" cy="([\d.]+)"/g)].map(([, x, y]) => [
    Number(x),
    Number(y),
  ]);
}
