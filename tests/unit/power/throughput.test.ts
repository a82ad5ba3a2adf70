import { describe, expect, test } from 'vitest';
import type { Estimate, EstimatedNumber } from '../../../toolkit/numerics/estimate.js';
import { seededRandom } from '../../../toolkit/numerics/random.js';
import { fitPowerCurve } from '../../../toolkit/power/fit/fit-power-curve.js';
import { throughputGradient, throughputOf } from '../../../toolkit/power/fit/throughput-relation.js';
import { frequencyAt } from '../../../toolkit/power/predict/frequency-at.js';
import {
  throughputAt,
  throughputCovariance,
  throughputFunction,
  throughputSlopes,
} from '../../../toolkit/power/predict/throughput-at.js';
import type { Run } from '../../../toolkit/runs/run.js';
import { drawProcessor, frequencyOf, syntheticRun } from './synthetic-processor.js';

const processor = drawProcessor(seededRandom(5));

function runAt(powerCapW: number, waitS: number): Run {
  return syntheticRun(processor, {
    powerCapW,
    thermalResistanceKPerW: 0.45,
    ambientC: 22,
    durationS: 800,
    random: seededRandom(powerCapW),
    work: { megacycleCount: 600, waitS },
  });
}

function given(estimate: Estimate): EstimatedNumber {
  if (estimate.kind !== 'estimated') throw new Error('not estimated');
  return estimate;
}

describe.each([
  { form: 'proportional', waitS: 0 },
  { form: 'saturating', waitS: 0.06 },
] as const)('work with a wait of $waitS s', ({ form, waitS }) => {
  const curve = fitPowerCurve([118, 95, 72].map((cap) => runAt(cap, waitS)));
  const { throughput } = curve;
  if (throughput === undefined) throw new Error('no throughput');

  test(`is told as ${form}, with the weights of both candidates`, () => {
    expect(throughput.form).toBe(form);
    expect(throughput.candidates.map((candidate) => candidate.form)).toEqual(['proportional', 'saturating']);
    expect(throughput.candidates.reduce((sum, { weight }) => sum + weight, 0)).toBeCloseTo(1, 12);
    expect(throughput.candidates.find(({ chosen }) => chosen)?.form).toBe(form);
    expect(throughput.points).toHaveLength(3);
  });

  test('gives cycles and wait within their uncertainty', () => {
    const { covariance, megacycleCount } = throughput;
    expect(Math.abs(megacycleCount - 600)).toBeLessThan(3.2 * Math.sqrt(covariance.matrix[1][1]));
    expect(Math.abs(throughput.waitS - waitS)).toBeLessThanOrEqual(3.2 * Math.sqrt(covariance.matrix[0][0]));
  });

  test('gives throughput at an untested cap, and beyond the tested ones marked and wider', () => {
    const truth = (powerW: number): number => 1 / (waitS + 600 / frequencyOf(processor, powerW, 66));
    const inside = given(throughputAt(curve, { powerW: 104, temperatureC: 66 }));
    expect(inside.extrapolated).toBe(false);
    expect(truth(104)).toBeGreaterThan(inside.interval95[0]);
    expect(truth(104)).toBeLessThan(inside.interval95[1]);
    const outside = given(throughputAt(curve, { powerW: 140, temperatureC: 66 }));
    expect(outside.extrapolated).toBe(true);
    expect(outside.standardError / outside.value).toBeGreaterThan(inside.standardError / inside.value);
  });

  test('function, slopes and covariance agree with the estimate', () => {
    const at = { powerW: 104, temperatureC: 66 };
    const f = throughputFunction(curve);
    const { value, standardError } = given(throughputAt(curve, at));
    expect(f(104, 66)).toBe(value);
    const covariance = throughputCovariance(curve, [at, { powerW: 90, temperatureC: 60 }]);
    expect(Math.sqrt(covariance[0][0])).toBeCloseTo(standardError, 10);
    expect(covariance[0][1]).toBeCloseTo(covariance[1][0], 12);
    const { perPower, perTemperature } = throughputSlopes(curve, at);
    expect((f(104.5, 66) - f(103.5, 66)) / perPower).toBeCloseTo(1, 3);
    expect((f(104, 66.5) - f(104, 65.5)) / perTemperature).toBeCloseTo(1, 3);
  });
});

test('the gradient of the relation agrees with differences', () => {
  const fit = fitPowerCurve([118, 72].map((cap) => runAt(cap, 0.06))).throughput!;
  const { perMHz, perParameter } = throughputGradient(fit, 3700);
  expect((throughputOf(fit, 3700.5) - throughputOf(fit, 3699.5)) / perMHz).toBeCloseTo(1, 5);
  const moved = (waitS: number, megacycleCount: number): number =>
    throughputOf(
      { ...fit, waitS: fit.waitS + waitS, megacycleCount: fit.megacycleCount + megacycleCount },
      3700,
    );
  expect((moved(1e-6, 0) - moved(-1e-6, 0)) / 2e-6 / perParameter[0]).toBeCloseTo(1, 5);
  expect((moved(0, 1e-3) - moved(0, -1e-3)) / 2e-3 / perParameter[1]).toBeCloseTo(1, 5);
});

test('frequencies close together leave the wait open, and a finding says so', () => {
  const curve = fitPowerCurve([runAt(100, 0.06), runAt(98, 0.06)].map(warm));
  expect(curve.throughput?.form).toBe('proportional');
  expect(curve.throughput?.candidates[1]?.rejected).toMatch(/too close together to tell a wait/);
  expect(curve.findings.map(({ code }) => code)).toContain('throughput-range-narrow');
});

test('without a throughput column there is none', () => {
  const strip = ({ throughputPerS: _, ...rest }: Run): Run => rest as Run;
  const curve = fitPowerCurve([runAt(118, 0), runAt(80, 0)].map(strip));
  expect(curve).not.toHaveProperty('throughput');
  expect(throughputAt(curve, { powerW: 100, temperatureC: 60 })).toEqual({
    kind: 'unavailable',
    reason: 'not-identifiable',
  });
  expect(() => throughputFunction(curve)).toThrow(
    /throughputFunction: `curve` must be a curve with throughput .*fit it to runs with a throughput column/,
  );
  expect(given(frequencyAt(curve, { powerW: 100, temperatureC: 60 })).value).toBeGreaterThan(3000);
});

test('bad input is refused as by frequencyAt', () => {
  const curve = fitPowerCurve([runAt(118, 0), runAt(80, 0)]);
  expect(() => throughputAt(curve, { powerW: -1, temperatureC: 60 })).toThrow(
    /`at\.powerW` must be a finite number above 0/,
  );
  expect(() => throughputAt({} as never, { powerW: 90, temperatureC: 60 })).toThrow(
    /throughputAt: `curve` must be a power-curve/,
  );
});

/** The run without its first four minutes: frequency hardly moves. */
function warm(run: Run): Run {
  const from = 120;
  return {
    ...run,
    timeS: run.timeS.subarray(from),
    temperatureC: run.temperatureC.subarray(from),
    powerW: run.powerW.subarray(from),
    frequencyMHz: run.frequencyMHz!.subarray(from),
    throughputPerS: run.throughputPerS!.subarray(from),
  };
}

test('runs of one label are refused where their work is compared', () => {
  const runs = [118, 95].map((cap): Run => ({ ...runAt(cap, 0), label: 'run' }));
  expect(() => fitPowerCurve(runs)).toThrow(
    /fitPowerCurve: `runs` must be told apart by their labels .*'run' twice.*give each run a label of its own/,
  );
});
