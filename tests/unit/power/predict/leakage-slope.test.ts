import { describe, expect, test } from 'vitest';
import { seededRandom } from '../../../../toolkit/numerics/random.js';
import { fitPowerCurve } from '../../../../toolkit/power/fit/fit-power-curve.js';
import { frequencyFunction, slopes } from '../../../../toolkit/power/predict/frequency-at.js';
import { leakageSlopeWPerK } from '../../../../toolkit/power/predict/leakage-slope.js';
import { drawProcessor, frequencyOf, powerOf, syntheticRun } from '../synthetic-processor.js';

const processor = drawProcessor(seededRandom(5));
const runs = [118, 80].map((powerCapW) =>
  syntheticRun(processor, {
    powerCapW,
    thermalResistanceKPerW: 0.45,
    ambientC: 22,
    durationS: 800,
    random: seededRandom(powerCapW),
  }),
);
const curve = fitPowerCurve(runs);

test('at a frequency it holds the power that one more kelvin adds', () => {
  const frequencyMHz = frequencyOf(processor, 118, 70);
  const slope = leakageSlopeWPerK(curve, { frequencyMHz, temperatureC: 70 });
  if (slope.kind !== 'estimated') throw new Error('not estimated');
  const truth = powerOf(processor, frequencyMHz, 70.5) - powerOf(processor, frequencyMHz, 69.5);
  expect(truth).toBeGreaterThan(slope.interval95[0]);
  expect(truth).toBeLessThan(slope.interval95[1]);
  expect(slope.extrapolated).toBe(false);
});

test('a power stands for the frequency it gives', () => {
  const frequencyMHz = frequencyFunction(curve)(110, 68);
  const byPower = leakageSlopeWPerK(curve, { powerW: 110, temperatureC: 68 });
  const byFrequency = leakageSlopeWPerK(curve, { frequencyMHz, temperatureC: 68 });
  expect(byPower.value).toBeCloseTo(byFrequency.value!, 9);
});

test('it is −(∂f/∂T)/(∂f/∂P), since frequency falls where leakage takes the power', () => {
  const { perPower, perTemperature } = slopes(curve, { powerW: 110, temperatureC: 68 });
  const slope = leakageSlopeWPerK(curve, { powerW: 110, temperatureC: 68 });
  expect(slope.value! / (-perTemperature / perPower)).toBeCloseTo(1, 4);
});

test('a form without temperature knows none', () => {
  const plain = fitPowerCurve(runs, { form: 'power-law' });
  expect(leakageSlopeWPerK(plain, { powerW: 100, temperatureC: 60 })).toEqual({
    kind: 'unavailable',
    reason: 'not-identifiable',
  });
});

describe('bad input', () => {
  test('neither or both of power and frequency', () => {
    const message =
      /leakageSlopeWPerK: `at` must be \{ frequencyMHz, temperatureC \} or \{ powerW, temperatureC \}/;
    expect(() => leakageSlopeWPerK(curve, { temperatureC: 60 } as never)).toThrow(message);
    expect(() =>
      leakageSlopeWPerK(curve, { temperatureC: 60, powerW: 90, frequencyMHz: 3500 } as never),
    ).toThrow(message);
  });

  test('numbers outside their domain', () => {
    expect(() => leakageSlopeWPerK(curve, { temperatureC: 60, powerW: 0 })).toThrow(
      /`at\.powerW` must be a finite number above 0/,
    );
    expect(() => leakageSlopeWPerK(curve, { temperatureC: Number.NaN, powerW: 90 })).toThrow(
      /`at\.temperatureC` must be a finite number above -273\.15/,
    );
  });
});
