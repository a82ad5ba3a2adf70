import { seededRandom } from '../../toolkit/numerics/random.js';
import { makeRun } from '../../toolkit/runs/make-run.js';
import type { Run } from '../../toolkit/runs/run.js';

/** The air of the benchmark runs, degrees Celsius. */
export const BENCH_AIR_C = 23;
/** Time in a cycle at which the load begins and ends, s; the first cycle's end is beyond a run of 1,500 samples. */
const LOAD_BEGINS_S = 20;
const LOAD_ENDS_S = 1500;
const CYCLE_S = 2500;

/**
 * A run at 1 Hz of two stages and white noise of 0.2 K, from rest at a small idle power, with fluctuating package power;
 * a long one goes through load and idle again and again.
 */
export function twoStageRun(sampleCount: number): Run {
  const random = seededRandom(20_260_101);
  const timeS = new Float64Array(sampleCount);
  const powerW = new Float64Array(sampleCount);
  const temperatureC = new Float64Array(sampleCount);
  const stages = [
    { kept: Math.exp(-1 / 8), resistanceKPerW: 0.22, state: 15 },
    { kept: Math.exp(-1 / 140), resistanceKPerW: 0.33, state: 15 },
  ];
  for (let i = 0; i < sampleCount; i++) {
    const inCycleS = i % CYCLE_S;
    timeS[i] = i;
    powerW[i] = (inCycleS < LOAD_BEGINS_S || inCycleS >= LOAD_ENDS_S ? 15 : 95) + random.normal();
    let riseK = 0;
    for (const stage of stages) {
      if (i > 0) stage.state = stage.kept * stage.state + (1 - stage.kept) * powerW[i];
      riseK += stage.resistanceKPerW * stage.state;
    }
    temperatureC[i] = BENCH_AIR_C + riseK + 0.2 * random.normal();
  }
  return makeRun(
    { timeS, powerW, temperatureC },
    { label: 'two stages', conditions: { ambientC: BENCH_AIR_C } },
  );
}
