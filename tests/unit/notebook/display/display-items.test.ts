import { describe, expect, it } from 'vitest';
import { displayItems } from '../../../../toolkit/notebook/display/display-items.js';
import { nameInWords, quantitiesTable } from '../../../../toolkit/notebook/display/display-quantities.js';
import type { Estimate } from '../../../../toolkit/numerics/estimate.js';
import { curveFromSteadyPoints } from '../../../../toolkit/power/fit/curve-from-steady-points.js';
import { frequencyAt, powerAt } from '../../../../toolkit/power/predict/frequency-at.js';
import { throughputAt } from '../../../../toolkit/power/predict/throughput-at.js';
import { tableText } from '../../../../toolkit/report/tables/table.js';
import { makeRun } from '../../../../toolkit/runs/make-run.js';
import { loadSegments } from '../../../../toolkit/runs/segments/load-segments.js';
import { steadyWindow } from '../../../../toolkit/runs/segments/steady-window.js';
import { coolerFromSteadyPoints } from '../../../../toolkit/thermal/cooler-from-steady-points.js';
import { resistanceAt, steadyTemperature } from '../../../../toolkit/thermal/steady-temperature.js';
import { countCycles } from '../../../../toolkit/wear/count-cycles.js';
import { theatreComparison } from '../../figures/puppet-theatre.js';

const estimate: Estimate = {
  kind: 'estimated',
  value: 81.234,
  standardError: 0.6,
  interval95: [80.0, 82.47],
};
const kindsOf = (value: unknown): readonly string[] | undefined =>
  displayItems(value)?.map((item) => item.kind);

describe('display items', () => {
  it('of a comparison of coolers: sentence, picture, both tables', () => {
    expect(kindsOf(theatreComparison())?.slice(0, 4)).toEqual(['markdown', 'figure', 'table', 'table']);
  });

  it('of a count of cycles: sentence, picture, table', () => {
    const timeS = Array.from({ length: 60 }, (_, i) => i);
    const temperatureC = timeS.map((t) => 50 + (t % 20 < 10 ? 20 : 0));
    const counted = countCycles({ label: 'matinee', timeS, temperatureC });
    expect(kindsOf(counted)?.slice(0, 3)).toEqual(['markdown', 'figure', 'table']);
    expect(kindsOf([counted, counted])).toEqual(['figure', 'table', 'table']);
  });

  it('of an uncertain number: digits that its interval allows', () => {
    expect(displayItems(estimate)).toEqual([{ kind: 'markdown', text: '**81.2 ± 1.2**' }]);
  });

  it('of an uncertain number that stands alone: with its unit', () => {
    const points = [
      { powerW: 60, temperatureC: 52.1, frequencyMHz: 3180, throughputPerS: 5.1 },
      { powerW: 80, temperatureC: 61.9, frequencyMHz: 3450, throughputPerS: 5.5 },
      { powerW: 100, temperatureC: 72.2, frequencyMHz: 3650, throughputPerS: 5.9 },
    ];
    const cooler = coolerFromSteadyPoints(points.map((point) => ({ ...point, ambientC: 22 })));
    const curve = curveFromSteadyPoints(points);
    const at = { powerW: 90, temperatureC: 67 };
    const textOf = (value: Estimate): unknown =>
      displayItems(value)?.map((item) => 'text' in item && item.text);
    for (const [alone, unit] of [
      [steadyTemperature(cooler, { powerW: 90, ambientC: 24 }), '°C'],
      [resistanceAt(cooler, 90), 'K/W'],
      [frequencyAt(curve, at), 'MHz'],
      [powerAt(curve, { frequencyMHz: 3500, temperatureC: 67 }), 'W'],
      [throughputAt(curve, at), '1/s'],
    ] as const)
      expect(textOf(alone)).toEqual([expect.stringContaining(` ${unit}`)]);
  });

  it('of a result without a way of its own: its sentence, its numbers with units, findings, cautions', () => {
    const result = {
      kind: 'something-new',
      summary: 'Settles at 81 °C. Wait.',
      steadyTemperatureC: estimate,
      moreTimeS: 300,
      findings: [{ code: 'gap', severity: 'note', message: '3 s are missing.' }],
      cautions: ['Stay within the limits.'],
    };
    const items = displayItems(result) ?? [];
    expect(items.map((item) => item.kind)).toEqual(['markdown', 'table', 'findings', 'findings']);
    const [, table] = items;
    expect(table?.kind === 'table' && table.table.rows).toEqual([
      ['Steady temperature', estimate, '°C'],
      ['More time', 300, 's'],
    ]);
    expect(table?.kind === 'table' && tableText(table.table)).toMatch(/Steady temperature +81\.2 ± 1\.2 +°C/);
  });

  it('of the parts of a run: a table, one row each', () => {
    const timeS = Array.from({ length: 600 }, (_, i) => i);
    const powerW = timeS.map((t) => (t < 120 ? 15 : 65));
    const run = makeRun(
      { timeS, temperatureC: timeS.map((t) => (t < 120 ? 35 : 70 - 35 * Math.exp(-(t - 120) / 60))), powerW },
      { label: 'drawer', conditions: { powerCapW: 65 } },
    );
    const items = displayItems(loadSegments(run)) ?? [];
    const texts = items.map((item) => (item.kind === 'table' ? tableText(item.table) : item.kind));
    expect(texts[1]).toMatch(/Kind +Start, s +End, s +Mean power, W.*\n.*\nidle +0 .*\nload +120 .* cap$/s);
    const end = displayItems(steadyWindow(run)) ?? [];
    expect(end.map((item) => item.kind).slice(0, 2)).toEqual(['markdown', 'table']);
    expect(end[1]?.kind === 'table' && tableText(end[1].table)).toMatch(/Temperature +70.* °C\n/);
  });

  it('of results of ours without a kind, and of lists of them: their uncertain numbers with units', () => {
    const stages = [{ timeConstantS: estimate, resistanceKPerW: 0.3 }];
    const [table, list] = displayItems({ count: 50, steadyRiseK: estimate, stages, findings: [] }) ?? [];
    expect(table?.kind === 'table' && table.table.rows).toEqual([
      ['Count', 50, ''],
      ['Steady rise', estimate, 'K'],
    ]);
    expect(list?.kind === 'table' && tableText(list.table)).toMatch(
      /Stages\n\nTime constant, s +Resistance, K\/W\n.*\n +81\.2 ± 1\.2 +0\.3/,
    );
    expect(kindsOf(stages)).toEqual(['table']);
  });

  it('of series: side by side, the first rows', () => {
    const timeS = Float64Array.from({ length: 50 }, (_, i) => i);
    const [table] = displayItems({ kind: 'step-response', timeS, risePerPowerKPerW: [...timeS] }) ?? [];
    expect(table?.kind === 'table' && tableText(table.table)).toMatch(
      /^Time, s +Rise per power, K\/W\n.*The first 20 of 50 rows\.$/s,
    );
  });

  it('of tables of danfojs, what is worked out of them and their columns: with the labels of rows that have some', async () => {
    const { DataFrame } = await import('danfojs-node');
    const frame = new DataFrame({ cap: [72, 95, 118], name: ['a', '<b>', null] });
    const textOf = (value: unknown): unknown =>
      displayItems(value)?.map((item) => (item.kind === 'table' ? tableText(item.table) : item.kind));
    expect(textOf(frame)).toEqual([expect.stringMatching(/^cap +name\n.*\n +72 +a\n +95 +<b>\n *118 +–$/)]);
    expect(textOf(frame['cap'])).toEqual([expect.stringMatching(/^cap\n.*\n +72\n +95\n *118$/)]);
    expect(textOf(frame.describe())).toEqual([expect.stringMatching(/\ncount +3\nmean +95\nstd +23\n/)]);
    expect(textOf(frame.tail(1))).toEqual([expect.stringMatching(/^ +cap +name\n.*\n2 +118 +–$/)]);
  });

  it('of other values: none', () => {
    for (const value of [
      1,
      'x',
      null,
      undefined,
      {},
      [],
      { kind: 'x' },
      { a: 1 },
      [{ a: 1 }],
      { stages: [{ a: 1 }] },
      { kind: 3 },
      [1, 2],
      () => 1,
    ])
      expect(displayItems(value)).toBeUndefined();
  });
});

describe('names in words', () => {
  it.each([
    ['steadyTemperatureC', 'Steady temperature', '°C'],
    ['thermalResistanceKPerW', 'Thermal resistance', 'K/W'],
    ['fanSpeedRpm', 'Fan speed', 'rpm'],
    ['cycleCount', 'Cycle count', ''],
    ['verdict', 'Verdict', ''],
  ])('%s is "%s" in "%s"', (name, words, unit) => {
    expect(nameInWords(name)).toEqual({ words, unit });
  });

  it('leave out what is no single quantity', () => {
    expect(
      quantitiesTable({ kind: 'x', curve: [1, 2], nested: { a: 1 }, long: 'x'.repeat(80) }),
    ).toBeUndefined();
  });
});
