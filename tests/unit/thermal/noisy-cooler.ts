import { seededRandom } from '../../../toolkit/numerics/random.js';
import type { Run } from '../../../toolkit/runs/run.js';
import { everyS, type KnownRun, knownRun } from './known-cooler.js';

/** A known cooler with noise of 0.2 K whose neighbours are correlated by `correlation`: a first-order process. */
export function noisyRun(
  seed: number,
  changes: Partial<KnownRun> & { readonly correlation?: number } = {},
): Run {
  const { correlation = 0 } = changes;
  const random = seededRandom(seed);
  const fresh = Math.sqrt(1 - correlation ** 2);
  let noise = random.normal();
  return knownRun({
    timeS: everyS(1, 900),
    poles: [
      { timeConstantS: 6, resistanceKPerW: 0.12 },
      { timeConstantS: 120, resistanceKPerW: 0.4 },
    ],
    startPowerW: 10,
    powerSteps: [{ atS: 30, powerW: 85 }],
    noiseK: () => {
      noise = correlation * noise + fresh * random.normal();
      return 0.2 * noise;
    },
    ...changes,
  });
}
