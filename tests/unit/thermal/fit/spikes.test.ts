import { expect, test } from 'vitest';
import { seededRandom } from '../../../../toolkit/numerics/random.js';
import { recordOfRuns } from '../../../../toolkit/thermal/fit/fit-record.js';
import { spikeMask } from '../../../../toolkit/thermal/fit/spikes.js';
import { everyS, knownRun } from '../known-cooler.js';

/** Residuals of a steady run whose sensor reads in steps, with two reading errors; the truth is known. */
function leftOut(quantumK: number, noiseK: number): number[] {
  const random = seededRandom(4);
  const errors = new Map([
    [300, 9],
    [700, -9],
  ]);
  const run = knownRun({
    timeS: everyS(1, 1000),
    poles: [{ timeConstantS: 40, resistanceKPerW: 0.5 }],
    powerSteps: [{ atS: 0, powerW: 80 }],
    ambientC: 22.3,
    noiseK: () => noiseK * random.normal(),
  });
  const temperatureC = run.temperatureC.map(
    (reading, i) => quantumK * Math.round(reading / quantumK) + (errors.get(i) ?? 0),
  );
  const exactC = Array.from(run.timeS, (timeS) => 22.3 + 40 * (1 - Math.exp(-timeS / 40)));
  const record = recordOfRuns([{ ...run, temperatureC }], 0);
  const mask = spikeMask(
    record,
    temperatureC.map((reading, i) => exactC[i] - reading),
  );
  return Array.from(mask.keys()).filter((i) => mask[i] === 0);
}

test.each([
  [0.125, 0.2],
  [0.5, 0.2],
  // Nearly all readings are 62 °C; the few of 63 °C are as good.
  [1, 0.2],
  [1, 0.35],
])(
  'reading errors are left out, and nothing else, at a step of %d K and noise of %d K',
  (quantumK, noiseK) => {
    expect(leftOut(quantumK, noiseK)).toEqual([300, 700]);
  },
);
