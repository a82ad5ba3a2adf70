import { makeRun } from '../../../toolkit/runs/make-run.js';
import type { Conditions, PowerSample, Run } from '../../../toolkit/runs/run.js';
import type { CoolerModel } from '../../../toolkit/thermal/cooler-model.js';
import type { Pole } from '../../../toolkit/thermal/ladder.js';

/** A change of power to a value that is held from then on. */
export interface PowerStep {
  readonly atS: number;
  readonly powerW: number;
}

/** A run of a cooler whose poles are known, without noise unless some is given. */
export interface KnownRun {
  readonly timeS: ArrayLike<number>;
  readonly poles: readonly Pole[];
  readonly sensorLagS?: number;
  /** Before the first step the cooler is in equilibrium at this power, W. Default 0. */
  readonly startPowerW?: number;
  /** In order of time. */
  readonly powerSteps: readonly PowerStep[];
  readonly ambientC?: number;
  /** Log the air as a column too. */
  readonly logAmbient?: boolean;
  readonly powerSample?: PowerSample;
  readonly label?: string;
  readonly conditions?: Conditions;
  /** Added to the temperature of each sample, K. */
  readonly noiseK?: (index: number) => number;
}

/**
 * Rise of a sum of poles through a sensor lag after steps of power, by superposition of closed-form step
 * responses: nothing is shared with the recursion that the toolkit uses.
 */
export function knownRiseK(
  timeS: number,
  {
    poles,
    sensorLagS,
    startPowerW = 0,
    powerSteps,
  }: Pick<KnownRun, 'poles' | 'sensorLagS' | 'startPowerW' | 'powerSteps'>,
): number {
  let riseK = 0;
  for (const { timeConstantS, resistanceKPerW } of poles) {
    riseK += resistanceKPerW * startPowerW;
    let before = startPowerW;
    for (const { atS, powerW } of powerSteps) {
      const elapsedS = timeS - atS;
      if (elapsedS > 0) {
        const own = Math.exp(-elapsedS / timeConstantS);
        const left =
          sensorLagS === undefined
            ? own
            : (timeConstantS * own - sensorLagS * Math.exp(-elapsedS / sensorLagS)) /
              (timeConstantS - sensorLagS);
        riseK += resistanceKPerW * (powerW - before) * (1 - left);
      }
      before = powerW;
    }
  }
  return riseK;
}

/** Power at an instant (from a step on: its new value), and its mean over an interval. */
export function powerAt(timeS: number, startPowerW: number, steps: readonly PowerStep[]): number {
  return steps.findLast(({ atS }) => atS <= timeS)?.powerW ?? startPowerW;
}

function meanPowerW(fromS: number, toS: number, startPowerW: number, steps: readonly PowerStep[]): number {
  const edges = [fromS, ...steps.map(({ atS }) => atS).filter((atS) => atS > fromS && atS < toS), toS];
  let energyJ = 0;
  for (let e = 0; e + 1 < edges.length; e++)
    energyJ += (edges[e + 1] - edges[e]) * powerAt(edges[e], startPowerW, steps);
  return energyJ / (toS - fromS);
}

/** The run a perfect logger would write. */
export function knownRun(known: KnownRun): Run {
  const { timeS, startPowerW = 0, powerSteps, ambientC = 22, powerSample = 'interval-mean' } = known;
  const times = Array.from(timeS);
  return makeRun(
    {
      timeS: times,
      temperatureC: times.map((t, i) => ambientC + knownRiseK(t, known) + (known.noiseK?.(i) ?? 0)),
      powerW: times.map((t, i) =>
        powerSample === 'instant'
          ? powerAt(t, startPowerW, powerSteps)
          : i === 0
            ? (powerSteps.findLast(({ atS }) => atS < t)?.powerW ?? startPowerW)
            : meanPowerW(times[i - 1], t, startPowerW, powerSteps),
      ),
      ...(known.logAmbient === true ? { ambientC: times.map(() => ambientC) } : {}),
    },
    {
      label: known.label ?? 'known',
      conditions: { ...(known.logAmbient === true ? {} : { ambientC }), ...known.conditions },
      powerSample,
    },
  );
}

/** 0, step, 2 step … up to and including the end. */
export function everyS(stepS: number, endS: number): number[] {
  return Array.from({ length: Math.round(endS / stepS) + 1 }, (_, i) => i * stepS);
}

/** A cooler model with given numbers, as a fit would state it. */
export function modelWith(
  poles: readonly Pole[],
  more: {
    readonly sensorLagS?: number;
    readonly powerExponent?: number;
    readonly atPowerW?: number;
    readonly airTimeConstantS?: number;
    readonly resistanceStandardErrorKPerW?: number;
    readonly exponentStandardError?: number;
    readonly correlation?: number;
  } = {},
): CoolerModel {
  const thermalResistanceKPerW = poles.reduce((sum, pole) => sum + pole.resistanceKPerW, 0);
  const { atPowerW = 80 } = more;
  return {
    kind: 'cooler-model',
    label: 'known',
    runLabels: ['known'],
    starts: [],
    method: 'transient',
    thermalResistanceKPerW: { kind: 'unavailable', reason: 'fixed', value: thermalResistanceKPerW },
    resistanceLaw: {
      thermalResistanceKPerW,
      atPowerW,
      powerExponent: more.powerExponent ?? 0,
      exponentSource: 'fitted',
      resistanceStandardErrorKPerW: more.resistanceStandardErrorKPerW ?? 0.002,
      exponentStandardError: more.exponentStandardError ?? 0,
      correlation: more.correlation ?? 0,
      degreesOfFreedom: 100,
    },
    poles: {
      timeConstantsS: poles.map((pole) => pole.timeConstantS),
      resistancesKPerW: poles.map((pole) => pole.resistanceKPerW),
      ...(more.sensorLagS === undefined ? {} : { sensorLagS: more.sensorLagS }),
      airTimeConstantS: more.airTimeConstantS ?? 0,
    },
    stages: [],
    ladder: [],
    ambientC: { kind: 'unavailable', reason: 'fixed', value: 22 },
    noise: {
      standardDeviationK: 0.1,
      samplesPerIndependentSample: 1,
      effectiveSampleCount: 100,
      peakAboveMeanK: 0,
    },
    orders: [],
    findings: [],
    covariance: { parameters: [], matrix: [] },
    testedRange: { powerW: [atPowerW, atPowerW], temperatureC: [22, 70], durationS: 1500 },
    termination: { reason: 'known', converged: true, message: 'known' },
    evaluationCount: 0,
  };
}
