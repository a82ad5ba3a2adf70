import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { undervoltRuns } from '../../../datasets-demo/generator/demo-runs.js';
import type { UndervoltTruth } from '../../../datasets-demo/generator/undervolt-truth.js';
import { parseConditions } from '../../../toolkit/logs/conditions.js';
import { parseRun } from '../../../toolkit/logs/read/parse-run.js';
import { fitPowerCurve } from '../../../toolkit/power/fit/fit-power-curve.js';
import { frequencyAt } from '../../../toolkit/power/predict/frequency-at.js';
import { throughputAt } from '../../../toolkit/power/predict/throughput-at.js';
import { undervolt } from '../../../toolkit/power/predict/undervolt.js';
import { checkSlowdown } from '../../../toolkit/runs/slowdown/slowdown-check.js';

const folder = new URL('../../../datasets-demo/undervolt/', import.meta.url);
const read = (name: string): string => readFileSync(new URL(name, folder), 'utf8');
const truth = JSON.parse(read('truth.json')) as UndervoltTruth;
const runs = undervoltRuns.map(({ name }) =>
  parseRun(read(`${name}.csv`), {
    label: name,
    conditions: parseConditions(read(`${name}.conditions.json`), `${name}.conditions.json`),
  }),
);

describe('the demo with a lowered voltage', () => {
  it('hides a slowdown that the check finds and names', () => {
    const check = checkSlowdown(runs);
    expect(check.runs.map(({ label, verdict }) => [label, verdict])).toEqual([
      ['lowered-by-40mv-at-118w', 'no-loss'],
      ['lowered-by-90mv-at-118w', 'loss'],
    ]);
    expect(check.summary).toMatch(
      /^lowered-by-90mv-at-118w reports 45\d\d MHz, works like 41\d\d MHz: .* Its frequency is higher than that of as-delivered-at-118w, its work is less\.$/,
    );
    const loss = check.runs[1].lossFraction;
    if (loss.kind !== 'estimated') throw new Error('not estimated');
    expect(truth.runs[3].lostFraction).toBeGreaterThan(loss.interval95[0]);
    expect(truth.runs[3].lostFraction).toBeLessThan(loss.interval95[1]);
  });

  it('gives a curve that holds the truth at every offset, at a cap that was not logged', () => {
    const curve = fitPowerCurve(runs);
    const { askedAt, offsets } = truth;
    for (const { voltageOffsetMv, effectiveFrequencyMHz, throughputPerS } of offsets) {
      const lowered = undervolt(curve, { offsetMv: voltageOffsetMv });
      for (const [estimate, value] of [
        [frequencyAt(lowered, askedAt), effectiveFrequencyMHz],
        [throughputAt(lowered, askedAt), throughputPerS],
      ] as const) {
        if (estimate.kind !== 'estimated') throw new Error('not estimated');
        expect(estimate.extrapolated).toBe(false);
        expect(value).toBeGreaterThan(estimate.interval95[0]);
        expect(value).toBeLessThan(estimate.interval95[1]);
      }
    }
  });
});
