// A die, a cooler and a fan as two heat capacities whose outer resistance goes with the fan speed, integrated by the
// classical fourth-order Runge–Kutta rule in small steps: nothing is shared with the poles that the toolkit fits.
import { seededRandom } from '../../../toolkit/numerics/random.js';
import { makeRun } from '../../../toolkit/runs/make-run.js';
import type { Run } from '../../../toolkit/runs/run.js';

/** Resistance of the fins at a fan speed: 0.05 K/W that no fan takes away, and what the air flow leaves. */
export const FINS = { limitKPerW: 0.05, convectionKPerW: 0.24, atFanSpeedRpm: 1200, exponent: 0.7 } as const;
export const DIE_TO_FINS_K_PER_W = 0.12;
const DIE_J_PER_K = 60;
const FINS_J_PER_K = 420;
const STEPS_A_SECOND = 10;

export function finsKPerW(fanSpeedRpm: number): number {
  return FINS.limitKPerW + FINS.convectionKPerW * (fanSpeedRpm / FINS.atFanSpeedRpm) ** -FINS.exponent;
}

/** Die to air at a fan speed, K/W. */
export function totalKPerW(fanSpeedRpm: number): number {
  return DIE_TO_FINS_K_PER_W + finsKPerW(fanSpeedRpm);
}

/** A run at 1 Hz in air of 22 °C, from 12 W in equilibrium to the load after a minute. */
export function fannedRun(input: {
  readonly seed: number;
  readonly powerW: number;
  readonly durationS?: number;
  readonly noiseK?: number;
  readonly label?: string;
  readonly fanSpeedRpm: (timeS: number) => number;
}): Run {
  const { seed, durationS = 1500, noiseK = 0.2, label = `${seed}` } = input;
  const random = seededRandom(seed);
  const timeS = Array.from({ length: durationS + 1 }, (_, i) => i);
  const powerW = timeS.map((t) => (t <= 60 ? 12 : input.powerW + 0.5 * random.normal()));
  const fanSpeedRpm = timeS.map(input.fanSpeedRpm);
  let die = 12 * totalKPerW(fanSpeedRpm[0]);
  let fins = 12 * finsKPerW(fanSpeedRpm[0]);
  const riseK = [die];
  for (let i = 1; i < timeS.length; i++) {
    const outerKPerW = finsKPerW(fanSpeedRpm[i]);
    const slopes = (d: number, f: number): [number, number] => {
      const inward = (d - f) / DIE_TO_FINS_K_PER_W;
      return [(powerW[i] - inward) / DIE_J_PER_K, (inward - f / outerKPerW) / FINS_J_PER_K];
    };
    const h = 1 / STEPS_A_SECOND;
    for (let s = 0; s < STEPS_A_SECOND; s++) {
      const a = slopes(die, fins);
      const b = slopes(die + (h / 2) * a[0], fins + (h / 2) * a[1]);
      const c = slopes(die + (h / 2) * b[0], fins + (h / 2) * b[1]);
      const d = slopes(die + h * c[0], fins + h * c[1]);
      die += (h / 6) * (a[0] + 2 * b[0] + 2 * c[0] + d[0]);
      fins += (h / 6) * (a[1] + 2 * b[1] + 2 * c[1] + d[1]);
    }
    riseK.push(die);
  }
  return makeRun(
    {
      timeS,
      powerW,
      fanSpeedRpm,
      temperatureC: riseK.map((rise) => 22 + rise + noiseK * random.normal()),
    },
    { label, conditions: { ambientC: 22, cooler: 'tower 88 mm' } },
  );
}
