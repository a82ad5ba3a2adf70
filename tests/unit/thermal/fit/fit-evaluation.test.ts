import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../../../toolkit/numerics/random.js';
import { makeRun } from '../../../../toolkit/runs/make-run.js';
import type { Run } from '../../../../toolkit/runs/run.js';
import { createFitEvaluation } from '../../../../toolkit/thermal/fit/fit-evaluation.js';
import { recordOfRuns } from '../../../../toolkit/thermal/fit/fit-record.js';
import {
  type FitStructure,
  layoutParameters,
  linearCountOf,
} from '../../../../toolkit/thermal/fit/fit-structure.js';

/** Runs with everything a fit can have: uneven steps, three powers, two mounts, a gap, an unknown air, noise. */
function richRuns(): Run[] {
  const random = seededRandom(11);
  return [
    { power: 60, mount: 'first', gap: false, air: 23 },
    { power: 95, mount: 'second', gap: true, air: 23 },
    { power: 80, mount: 'second', gap: false, air: undefined },
  ].map(({ power, mount, gap, air }) => {
    const timeS = Array.from(
      { length: 400 },
      (_, i) => i + (gap && i > 200 ? 40 : 0) + 0.02 * random.uniform(),
    );
    const powerW = timeS.map((t) => (t < 15 ? 12 : power) + random.normal());
    const temperatureC = timeS.map(
      (t) =>
        23 + 0.5 * power * (1 - 0.3 * Math.exp(-t / 7) - 0.7 * Math.exp(-t / 120)) + 0.2 * random.normal(),
    );
    return makeRun(
      { timeS, powerW, temperatureC, fanSpeedRpm: timeS.map((t) => (t < 150 ? 900 : 1400)) },
      {
        label: `${mount} at ${power} W`,
        conditions: { mount, ...(air === undefined ? {} : { ambientC: air }) },
      },
    );
  });
}

const structures: [string, FitStructure][] = [
  ['two stages', { stageCount: 2, sensorLag: false, fitExponent: false, powerExponent: 0, atPowerW: 75 }],
  ['a sensor lag', { stageCount: 2, sensorLag: true, fitExponent: false, powerExponent: 0, atPowerW: 75 }],
  [
    'an assumed exponent',
    { stageCount: 1, sensorLag: false, fitExponent: false, powerExponent: 0.1, atPowerW: 75 },
  ],
  [
    'a fitted exponent',
    { stageCount: 2, sensorLag: false, fitExponent: true, powerExponent: 0, atPowerW: 75 },
  ],
  [
    'a fan',
    { stageCount: 2, sensorLag: false, fitExponent: false, powerExponent: 0, atPowerW: 75, fan: true },
  ],
  [
    'an enclosure',
    {
      stageCount: 2,
      sensorLag: false,
      fitExponent: false,
      powerExponent: 0.1,
      atPowerW: 75,
      enclosure: true,
    },
  ],
  [
    'a fan in an enclosure and everything else',
    {
      stageCount: 2,
      sensorLag: true,
      fitExponent: true,
      powerExponent: 0,
      atPowerW: 75,
      fan: true,
      enclosure: true,
    },
  ],
  ['everything', { stageCount: 3, sensorLag: true, fitExponent: true, powerExponent: 0, atPowerW: 75 }],
];

describe('createFitEvaluation', () => {
  it.each(structures)('accumulates the derivatives of its model, with %s', (_, structure) => {
    const record = recordOfRuns(richRuns(), 0, { referenceFanSpeedRpm: 1100 });
    const layout = layoutParameters(record, structure);
    const random = seededRandom(5);
    const weights = new Float64Array(record.sampleCount).map(() => 0.5 + random.uniform());
    weights[17] = 0;
    const parameters = new Float64Array(layout.count);
    parameters.set([Math.log(5), Math.log(40), Math.log(150)].slice(0, structure.stageCount));
    if (layout.lagIndex >= 0) parameters[layout.lagIndex] = Math.log(2.5);
    if (layout.exponentIndex >= 0) parameters[layout.exponentIndex] = 0.07;
    if (layout.fanIndex >= 0) parameters.set([0.4, 0.7], layout.fanIndex);
    if (layout.mountIndex >= 0) parameters[layout.mountIndex] = 0.02;
    for (let i = layout.startIndices[0]; i < layout.count; i++) parameters[i] = 14 + i;
    for (const index of layout.ambientIndices) if (index >= 0) parameters[index] = 1.5;

    // With the resistances projected out, the gradient of the cost over the nonlinear parameters is twice the
    // accumulated one: the resistances are at their optimum, so moving them changes nothing to first order.
    const evaluation = createFitEvaluation(record, structure, layout, weights);
    evaluation.evaluate(parameters);
    const gradient = evaluation.accumulate().gradient.slice(0, layout.count);
    expect(evaluation.linearParameters.some((resistance) => resistance > 0)).toBe(true);
    layout.names.forEach((name, i) => {
      const step = 1e-5 * Math.max(1, Math.abs(parameters[i]));
      const moved = (by: number): number => {
        const at = parameters.slice();
        at[i] += by;
        return evaluation.evaluate(at);
      };
      const slope = (moved(step) - moved(-step)) / (2 * step);
      // Central differences of a cost of some 1e5 are good to about 1e-4 of the largest slope.
      const scale = Math.max(1, ...gradient.map(Math.abs));
      expect(Math.abs(2 * gradient[i] - slope) / scale, name).toBeLessThan(1e-4);
    });
  });

  it.each(structures)('accumulates the products of its columns, with %s', (_, structure) => {
    const record = recordOfRuns(richRuns(), 0, { referenceFanSpeedRpm: 1100 });
    const layout = layoutParameters(record, structure);
    const evaluation = createFitEvaluation(
      record,
      structure,
      layout,
      new Float64Array(record.sampleCount).fill(1),
    );
    const parameters = new Float64Array(layout.count);
    parameters.set([Math.log(5), Math.log(40), Math.log(150)].slice(0, structure.stageCount));
    if (layout.lagIndex >= 0) parameters[layout.lagIndex] = Math.log(2.5);
    for (let i = layout.startIndices[0]; i < layout.count; i++) parameters[i] = 14;
    evaluation.evaluate(parameters);
    const { gram, gradient } = evaluation.accumulate();
    const width = layout.count + linearCountOf(structure);
    for (let a = 0; a < width; a++) {
      expect(gram[a * width + a]).toBeGreaterThanOrEqual(0);
      for (let b = 0; b < a; b++) {
        expect(gram[a * width + b]).toBe(gram[b * width + a]);
        // Cauchy and Schwarz
        expect(gram[a * width + b] ** 2).toBeLessThanOrEqual(
          gram[a * width + a] * gram[b * width + b] * (1 + 1e-9),
        );
      }
    }
    // Resistances that are not at their bound are at the optimum.
    evaluation.linearParameters.forEach((resistance, k) => {
      if (resistance === 0) return;
      const scale = Math.sqrt(gram[(layout.count + k) * (width + 1)]);
      expect(Math.abs(gradient[layout.count + k]) / scale).toBeLessThan(1e-5);
    });
  });

  it.each(structures)('gives residuals that agree with its cost, with %s', (_, structure) => {
    const record = recordOfRuns(richRuns(), 0, { referenceFanSpeedRpm: 1100 });
    const layout = layoutParameters(record, structure);
    const evaluation = createFitEvaluation(
      record,
      structure,
      layout,
      new Float64Array(record.sampleCount).fill(1),
    );
    const parameters = new Float64Array(layout.count).fill(1);
    for (const prior of layout.priors) parameters[prior.index] = prior.mean;
    const cost = evaluation.evaluate(parameters);
    const squares = evaluation.residualsK().reduce((sum, residual) => sum + residual * residual, 0);
    expect(squares / cost).toBeCloseTo(1, 9);
  });
});
