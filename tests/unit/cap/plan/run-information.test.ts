import { inverse, Matrix } from 'ml-matrix';
import { describe, expect, it } from 'vitest';
import {
  afterRun,
  type CoolerKnowledge,
  knowledgeOf,
  resistanceSpreadAt,
} from '../../../../toolkit/cap/plan/run-information.js';
import { coolerFromSteadyPoints } from '../../../../toolkit/thermal/cooler-from-steady-points.js';
import { fitCooler } from '../../../../toolkit/thermal/fit/fit-cooler.js';
import {
  BOARD_SHARE,
  COMMON_REFERENCE_UNCERTAINTY_K,
} from '../../../../toolkit/thermal/fit/unseen-uncertainty.js';
import { noisyRun } from '../../thermal/noisy-cooler.js';

const as = { sampleS: 1, forNextMount: false };
const run = (label: string, seed: number, mount?: string) =>
  noisyRun(seed, { label, conditions: { ambientC: 22, ...(mount === undefined ? {} : { mount }) } });
const model = fitCooler(run('first', 1), { stageCount: 2, sensorLag: false });

const spreadAt = (knowledge: CoolerKnowledge, powerW: number): number =>
  resistanceSpreadAt(knowledge, powerW).standardErrorFraction;

describe('what is known of a cooler', () => {
  it('begins with the standard error that the fit states', () => {
    const { resistanceStandardErrorKPerW, thermalResistanceKPerW, atPowerW } = model.resistanceLaw;
    const stated = resistanceStandardErrorKPerW / thermalResistanceKPerW;
    expect(spreadAt(knowledgeOf(model, as), atPowerW) / stated).toBeCloseTo(1, 9);
  });

  it('begins with that of averages where there are no stages', () => {
    const averages = coolerFromSteadyPoints([
      { powerW: 60, temperatureC: 52, ambientC: 23 },
      { powerW: 90, temperatureC: 66, ambientC: 23 },
    ]);
    const { resistanceStandardErrorKPerW, thermalResistanceKPerW, atPowerW } = averages.resistanceLaw;
    const stated = resistanceStandardErrorKPerW / thermalResistanceKPerW;
    expect(spreadAt(knowledgeOf(averages, as), atPowerW) / stated).toBeCloseTo(1, 9);
  });

  it('takes what no record shows as the fit does: what a long record without noise leaves open', () => {
    const longRuns = [80, 81].map((powerW, i) =>
      noisyRun(5 + i, {
        label: `${powerW} W`,
        noiseK: () => 0,
        logAmbient: true,
        powerSteps: [{ atS: 30, powerW }],
      }),
    );
    const perfect = fitCooler(longRuns, { stageCount: 2, sensorLag: false, powerExponent: 0 });
    const { atPowerW, thermalResistanceKPerW } = perfect.resistanceLaw;
    // What is left of the stated error without noise: effects that the model leaves out.
    const commonKPerW = COMMON_REFERENCE_UNCERTAINTY_K / atPowerW;
    const leftOutKPerW = Math.sqrt(
      perfect.resistanceLaw.resistanceStandardErrorKPerW ** 2 -
        commonKPerW ** 2 -
        (BOARD_SHARE * thermalResistanceKPerW) ** 2,
    );
    const unseen = Math.hypot(
      COMMON_REFERENCE_UNCERTAINTY_K / (atPowerW * thermalResistanceKPerW),
      BOARD_SHARE,
      leftOutKPerW / thermalResistanceKPerW,
    );
    expect(spreadAt(knowledgeOf(perfect, as), atPowerW) / unseen).toBeCloseTo(1, 2);
  });

  it('never falls below what no record shows, however long runs are logged', () => {
    let knowledge = knowledgeOf(model, as);
    for (let i = 0; i < 200; i++)
      knowledge = afterRun(knowledge, { powerW: 85, durationS: 3600, remounted: false });
    const riseK = 85 * model.resistanceLaw.thermalResistanceKPerW;
    const unseen = Math.hypot(COMMON_REFERENCE_UNCERTAINTY_K / riseK, BOARD_SHARE);
    expect(spreadAt(knowledge, 85)).toBeGreaterThan(0.99 * unseen);
    expect(spreadAt(knowledge, 85)).toBeLessThan(1.2 * unseen);
  });
});

describe('the expected knowledge after a run', () => {
  it('agrees with the normal equations (Σ⁻¹ + JᵀWJ)⁻¹ for a run of one instant', () => {
    // One measurement of a settled cooler: 1/variance adds up. With the run's own air and start unknown, the variance of
    // the measurement is that of the noise and of the air.
    const settled: CoolerKnowledge = {
      numbers: { timeConstantsS: [1e-3], resistancesKPerW: [0.5], powerExponent: 0, atPowerW: 80 },
      startPowerW: 8,
      covariance: Float64Array.from([0, 0, 0, 0, 0, 1e-4, 2e-5, 0, 0, 2e-5, 4e-4, 0, 0, 0, 0, 0.0064]),
      count: 4,
      noise: { standardDeviationK: 0.4, independentS: 2 },
      runAirK: 0.2,
      longestS: 1500,
      ofTransients: false,
      degreesOfFreedom: 100,
      powersW: [60, 90],
      exponentKnown: true,
    };
    const powerW = 100;
    const durationS = 800;
    const after = afterRun(settled, { powerW, durationS, remounted: false });
    // Slopes of the rise P R (P/P0)^-q with R, q, reference; the time constant plays no part once settled.
    const slopes = [powerW, -powerW * 0.5 * Math.log(powerW / 80), 1];
    const variance = (0.4 ** 2 * 2) / durationS + 0.2 ** 2;
    const prior = new Matrix([
      [1e-4, 2e-5, 0],
      [2e-5, 4e-4, 0],
      [0, 0, 0.0064],
    ]);
    const h = Matrix.rowVector(slopes);
    const posterior = inverse(inverse(prior).add(h.transpose().mmul(h).div(variance)));
    for (let a = 0; a < 3; a++)
      for (let b = 0; b < 3; b++)
        // Differences of second order in the steps of the derivatives.
        expect(after.covariance[(a + 1) * 4 + b + 1]).toBeCloseTo(posterior.get(a, b), 8);
  });

  it('is better the longer the run, and the more so for a slow cooler', () => {
    const knowledge = knowledgeOf(model, as);
    const spreadAfter = (durationS: number, powerW = 60) =>
      spreadAt(afterRun(knowledge, { powerW, durationS, remounted: false }), 100);
    expect(spreadAfter(200)).toBeLessThan(spreadAt(knowledge, 100));
    expect(spreadAfter(600)).toBeLessThan(spreadAfter(200));
    expect(spreadAfter(1800)).toBeLessThan(spreadAfter(600));
  });

  it('tells the exponent only at a power that was not logged yet', () => {
    const knowledge = knowledgeOf(model, as);
    const exponentVariance = ({ covariance, count }: CoolerKnowledge) =>
      covariance[(count - 2) * count + count - 2];
    const same = afterRun(knowledge, { powerW: 85, durationS: 1800, remounted: false });
    const other = afterRun(knowledge, { powerW: 55, durationS: 1800, remounted: false });
    expect(exponentVariance(same)).toBe(exponentVariance(knowledge));
    expect(exponentVariance(other)).toBeLessThan(0.5 * exponentVariance(knowledge));
    expect(other.exponentKnown).toBe(true);
  });

  it('counts a further mount where the cap shall hold for any', () => {
    const knowledge = knowledgeOf(model, { sampleS: 1, forNextMount: true });
    expect(spreadAt(knowledge, 85)).toBeGreaterThan(0.03);
    const [kept, remounted] = [false, true].map((again) =>
      resistanceSpreadAt(afterRun(knowledge, { powerW: 85, durationS: 900, remounted: again }), 85),
    );
    expect(remounted.halfWidthFraction).toBeLessThan(0.95 * kept.halfWidthFraction);
  });

  it('does not change what it starts from', () => {
    const knowledge = knowledgeOf(model, as);
    const before = knowledge.covariance.slice();
    afterRun(knowledge, { powerW: 60, durationS: 600, remounted: false });
    expect(knowledge.covariance).toEqual(before);
  });
});
