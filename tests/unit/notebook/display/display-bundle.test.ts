import { describe, expect, it } from 'vitest';
import { chooseCap } from '../../../../toolkit/cap/choose/choose-cap.js';
import { figureOfRun } from '../../../../toolkit/figures/figure-of-run.js';
import {
  capChoicesMimeType,
  displayBundles,
  plotlyMimeType,
  reportItemMimeType,
} from '../../../../toolkit/notebook/display/display-bundle.js';
import type { MimeBundle } from '../../../../toolkit/notebook/kernel/messages/outputs.js';
import { curveFromSteadyPoints } from '../../../../toolkit/power/fit/curve-from-steady-points.js';
import { toFrame } from '../../../../toolkit/report/tables/frame.js';
import { tableOfCooler } from '../../../../toolkit/report/tables/table-of-cooler.js';
import { makeRun } from '../../../../toolkit/runs/make-run.js';
import { coolerFromSteadyPoints } from '../../../../toolkit/thermal/cooler-from-steady-points.js';

const timeS = Array.from({ length: 300 }, (_, i) => i);
const run = makeRun(
  {
    timeS,
    temperatureC: timeS.map((t) => 70 - 40 * Math.exp(-t / 60) + 0.1 * Math.sin(t)),
    powerW: timeS.map((t) => 95 + 0.1 * Math.sin(7 * t)),
  },
  { label: '<b>drawer</b>', conditions: { cooler: 'flat 41 mm', ambientC: 23, powerCapW: 95 } },
);
const cooler = coolerFromSteadyPoints(
  [
    { powerW: 60, temperatureC: 55, ambientC: 23 },
    { powerW: 75, temperatureC: 63.1, ambientC: 23 },
    { powerW: 90, temperatureC: 71, ambientC: 23 },
  ],
  { cooler: 'flat 58 mm' },
);
const curve = curveFromSteadyPoints([
  { powerW: 60, temperatureC: 55, frequencyMHz: 3100 },
  { powerW: 90, temperatureC: 70, frequencyMHz: 3520 },
  { powerW: 118, temperatureC: 84, frequencyMHz: 3810 },
]);
const choice = chooseCap(cooler, curve, { limitC: 80, ambientC: 23 });

const kindsOf = (value: unknown): string[] =>
  displayBundles(value).map((bundle) =>
    plotlyMimeType in bundle
      ? 'figure'
      : ((bundle[reportItemMimeType] as { kind?: string } | undefined)?.kind ?? 'text'),
  );
const textsOf = (bundles: readonly MimeBundle[]): string =>
  bundles.map((bundle) => `${bundle['text/plain']}`).join('\n');

describe('displayBundles', () => {
  it.each([
    ['a run', run, ['figure']],
    ['a cooler model', cooler, ['table']],
    ['a power curve', curve, ['figure', 'table']],
    ['a cap', choice, ['markdown', 'figure', 'table', 'findings']],
    ['a figure', figureOfRun(run), ['figure']],
    ['a table', tableOfCooler(cooler), ['table']],
    ['findings', [{ code: 'gap', severity: 'note', message: '3 s are missing.' }], ['findings']],
    ['runs', [run, run], ['table']],
    ['cooler models', [cooler, cooler], ['table', 'figure']],
    ['caps', [choice, choice], ['table', 'figure', 'heading', 'markdown', 'figure']],
  ])('shows %s by its own items, each as HTML and as text', (_, value, kinds) => {
    const shown = kindsOf(value);
    expect(shown.slice(0, kinds.length)).toEqual(kinds);
    for (const bundle of displayBundles(value)) {
      expect(bundle['text/html']).toMatch(/^</);
      expect(bundle['text/plain']).toMatch(/\S/);
    }
  });

  it('survives JSON, as it has to on its way out of the kernel', () => {
    for (const value of [run, cooler, curve, choice]) {
      const bundles = displayBundles(value);
      expect(JSON.parse(JSON.stringify(bundles))).toEqual(bundles);
    }
  });

  it('carries the caps themselves for programs that run the notebook', () => {
    expect(displayBundles(choice)[0]?.[capChoicesMimeType]).toEqual([choice]);
    expect(displayBundles([choice, choice])[0]?.[capChoicesMimeType]).toEqual([choice, choice]);
  });

  it('says what to do first, and a caution that holds for all caps once', () => {
    expect(displayBundles(choice)[0]?.['text/markdown']).toMatch(/^\*\*Set the cap to \d+ W\.\*\* /);
    const texts = textsOf(displayBundles([choice, choice]));
    expect(texts.split("Stay within the makers' limits")).toHaveLength(2);
  });

  it('shows a danfojs table as a table, the first 20 rows of it', async () => {
    const frame = await toFrame(Array.from({ length: 25 }, (_, i) => ({ cooler: `c${i}`, cap: i })));
    expect(kindsOf(frame)).toEqual(['table']);
    const text = textsOf(displayBundles(frame));
    expect(text).toContain('c19');
    expect(text).not.toContain('c20');
    expect(text).toContain('The first 20 of 25 rows.');
  });

  it('shows any other value as text, and tells of a forgotten await', () => {
    expect(displayBundles({ limitC: 85 })).toEqual([{ 'text/plain': '{ limitC: 85 }' }]);
    expect(displayBundles('words')).toEqual([{ 'text/plain': 'words' }]);
    expect(displayBundles([])).toEqual([{ 'text/plain': '[]' }]);
    expect(textsOf(displayBundles(Promise.resolve(1)))).toMatch(/write await before the call/);
  });

  it('shows hostile text as text', () => {
    for (const bundle of displayBundles(run)) expect(bundle['text/html']).not.toContain('<b>drawer');
  });
});
