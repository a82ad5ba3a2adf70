import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { fanSpeedRuns } from '../../../datasets-demo/generator/demo-runs.js';
import type { FanSpeedTruth } from '../../../datasets-demo/generator/fan-speed-truth.js';
import { parseConditions } from '../../../toolkit/logs/conditions.js';
import { parseRun } from '../../../toolkit/logs/read/parse-run.js';
import { fitCooler } from '../../../toolkit/thermal/fit/fit-cooler.js';
import { resistanceAt } from '../../../toolkit/thermal/steady-temperature.js';

const folder = new URL('../../../datasets-demo/fan-speeds/', import.meta.url);
const read = (name: string): string => readFileSync(new URL(name, folder), 'utf8');
const truth = JSON.parse(read('truth.json')) as FanSpeedTruth;
const runs = fanSpeedRuns.map(({ name }) =>
  parseRun(read(`${name}.csv`), {
    label: name,
    conditions: parseConditions(read(`${name}.conditions.json`), `${name}.conditions.json`),
  }),
);

describe('the demo at several fan speeds', () => {
  it('gives each speed its own resistance, within the interval of a fit of that run alone', () => {
    for (const [i, { thermalResistanceKPerW }] of truth.runs.entries()) {
      const model = fitCooler([runs[i]]);
      const estimate = resistanceAt(model, 95);
      if (estimate.kind !== 'estimated') throw new Error('not estimated');
      const [low, high] = estimate.interval95;
      // Widened a little: three intervals of 95 % at once.
      expect(thermalResistanceKPerW).toBeGreaterThan(low - 0.3 * (high - low));
      expect(thermalResistanceKPerW).toBeLessThan(high + 0.3 * (high - low));
    }
  });

  it('is warmer the slower the fan turns', () => {
    const warmths = truth.runs.map(({ dieTemperatureC }) => dieTemperatureC);
    expect(warmths).toEqual([...warmths].sort((a, b) => a - b));
    expect(truth.runs.map(({ fanSpeedRpm }) => fanSpeedRpm)).toEqual([1900, 1350, 900]);
  });
});
