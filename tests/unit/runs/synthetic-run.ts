import { makeRun } from '../../../toolkit/runs/make-run.js';
import type { Conditions, Run } from '../../../toolkit/runs/run.js';

/** Seeded uniform numbers in [0, 1) (Numerical Recipes' linear congruence), so that every run is the same. */
export function seededUniform(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return state / 2 ** 32;
  };
}

/** Seeded standard normal numbers (Box and Muller). */
export function seededNormal(seed: number): () => number {
  const uniform = seededUniform(seed);
  return () => Math.sqrt(-2 * Math.log(1 - uniform())) * Math.cos(2 * Math.PI * uniform());
}

/** What a synthetic run is made of; every function takes the time in s. */
export interface SyntheticRun {
  readonly durationS: number;
  readonly intervalS?: number;
  /** Power before any temperature limit, W. */
  readonly powerW: (timeS: number, temperatureC: number) => number;
  readonly frequencyMHz?: (powerW: number, temperatureC: number, timeS: number) => number;
  readonly throughputPerS?: (powerW: number) => number;
  readonly ambientC?: number;
  readonly logAmbient?: boolean;
  readonly thermalResistanceKPerW?: number;
  readonly timeConstantS?: number;
  /** Resistance that answers at once, K/W: the step between die and heat sink. */
  readonly promptResistanceKPerW?: number;
  readonly temperatureNoiseK?: number;
  readonly powerNoiseW?: number;
  readonly seed?: number;
  readonly conditions?: Conditions;
}

/** One heat capacity behind a prompt resistance, stepped exactly over each interval: T = T_air + P r + θ. */
export function syntheticRun(recipe: SyntheticRun): Run {
  const {
    durationS,
    intervalS = 1,
    ambientC = 22,
    thermalResistanceKPerW = 0.35,
    promptResistanceKPerW = 0.15,
    timeConstantS = 60,
    temperatureNoiseK = 0,
    powerNoiseW = 0,
  } = recipe;
  const noise = seededNormal(recipe.seed ?? 1);
  const count = Math.round(durationS / intervalS) + 1;
  const timeS: number[] = [];
  const temperatureC: number[] = [];
  const powerW: number[] = [];
  const frequencyMHz: number[] = [];
  let heatedK = recipe.powerW(0, ambientC) * thermalResistanceKPerW;
  let temperature = ambientC + heatedK;
  for (let i = 0; i < count; i++) {
    const time = i * intervalS;
    const power = recipe.powerW(time, temperature);
    if (i > 0) {
      const settledK = power * thermalResistanceKPerW;
      heatedK = settledK + (heatedK - settledK) * Math.exp(-intervalS / timeConstantS);
    }
    temperature = ambientC + heatedK + promptResistanceKPerW * power;
    timeS.push(time);
    powerW.push(Math.max(0, power + powerNoiseW * noise()));
    temperatureC.push(temperature + temperatureNoiseK * noise());
    if (recipe.frequencyMHz !== undefined) frequencyMHz.push(recipe.frequencyMHz(power, temperature, time));
  }
  return makeRun(
    {
      timeS,
      temperatureC,
      powerW,
      ...(recipe.frequencyMHz === undefined ? {} : { frequencyMHz }),
      ...(recipe.throughputPerS === undefined ? {} : { throughputPerS: powerW.map(recipe.throughputPerS) }),
      ...(recipe.logAmbient === true ? { ambientC: timeS.map(() => ambientC) } : {}),
    },
    { label: 'synthetic', ...(recipe.conditions === undefined ? {} : { conditions: recipe.conditions }) },
  );
}

/** Two stages of equal resistance behind a sensor that lags, each a first-order lag stepped exactly. */
export function laggingRun(recipe: {
  readonly durationS: number;
  readonly powerW: (timeS: number) => number;
  readonly fastS: number;
  readonly slowS: number;
  /** Lag of the temperature sensor, s; 0 for none. */
  readonly lagS: number;
  readonly noiseK?: number;
}): Run {
  const { durationS, powerW, fastS, slowS, lagS, noiseK = 0 } = recipe;
  const noise = seededNormal(5);
  const timeS = Array.from({ length: durationS }, (_, i) => i);
  const [ambientC, stageKPerW] = [22, 0.2];
  let fastK = stageKPerW * powerW(0);
  let slowK = fastK;
  let readK = fastK + slowK;
  const temperatureC = timeS.map((t) => {
    if (t > 0) {
      fastK += (stageKPerW * powerW(t) - fastK) * -Math.expm1(-1 / fastS);
      slowK += (stageKPerW * powerW(t) - slowK) * -Math.expm1(-1 / slowS);
      readK += (fastK + slowK - readK) * (lagS === 0 ? 1 : -Math.expm1(-1 / lagS));
    }
    return ambientC + readK + noiseK * noise();
  });
  return makeRun({ timeS, temperatureC, powerW: timeS.map(powerW) }, { label: 'lagging' });
}
