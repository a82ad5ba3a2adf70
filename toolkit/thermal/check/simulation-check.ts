import { type KnownNames, NumericalError, requireNumber } from '../../errors.js';
import {
  type Autoregression,
  drawAutoregression,
  fitAutoregression,
  highestOrder,
} from '../../numerics/autoregression.js';
import { studentTQuantile } from '../../numerics/distributions.js';
import type { Estimate } from '../../numerics/estimate.js';
import { requireValue } from '../../numerics/estimates.js';
import { formatNumber } from '../../numerics/format-estimate.js';
import { type CheckedEstimate, checkIntervals, type IntervalCheck } from '../../numerics/interval-check.js';
import type { RandomStream } from '../../numerics/random.js';
import type { Finding } from '../../runs/finding.js';
import { quantumOf } from '../../runs/quantum.js';
import { requireRuns } from '../../runs/require-run.js';
import type { Run } from '../../runs/run.js';
import type { CoolerModel } from '../cooler-model.js';
import { totalOf } from '../fit/fit-candidate.js';
import { residualNoise } from '../fit/residual-correlation.js';
import { LEAST_DEGREES_OF_FREEDOM } from '../fit/stated-resistance.js';
import { requireModel } from '../require-model.js';
import { resistanceAt, steadyTemperature } from '../steady-temperature.js';
import {
  failedRefits,
  type RefitSeries,
  type RefitSeriesOptions,
  randomOfReplicate,
  requireSeriesOptions,
  runSeries,
  SERIES_OPTION_NAMES,
} from './refit-series.js';
import { hiddenNoiseRatio, type ResumedFit, refit, resumeFit } from './resumed-fit.js';

/** Options of `simulationCheck`; default count 200. */
export interface SimulationCheckOptions extends RefitSeriesOptions {
  /** Power of the steady temperature that is checked, W. Default: where the model states its resistance. */
  readonly powerW?: number;
}

export const SIMULATION_CHECK_NAMES: KnownNames<SimulationCheckOptions> = {
  ...SERIES_OPTION_NAMES,
  powerW: true,
};

/** A fit checked on records simulated from it. */
export interface SimulationCheck {
  readonly count: number;
  readonly seed: number;
  /** Refits that did not converge; they are left out. */
  readonly failedCount: number;
  /**
   * Of the total resistance at the power where the model states it. The claimed standard error is the model's: it also
   * covers what no refit of simulated records can show, the air, the mounts and the number of stages.
   */
  readonly thermalResistanceKPerW: IntervalCheck;
  /** Of the steady rise over the air at `powerW`. */
  readonly steadyRiseK: IntervalCheck;
  readonly powerW: number;
  readonly findings: readonly Finding[];
}

const DEFAULT_COUNT = 200;
const LEAST_REFITS = 10;

/**
 * Checks a fit on records simulated from it: are the stated standard errors right, and is the fit free of bias?
 *
 * Each record has the powers, times, starts and air of the runs, the temperatures of the fitted ladder, noise with the
 * autocorrelation of the run's residuals (an autoregression [BrockwellDavis1991, ch. 9]) and the sensor's quantum. Each
 * is fitted with the model's structure, with an uncertainty from its own residuals. The spread of these refits is what the
 * noise does to the answer, found without any formula for it; their intervals should hold the truth in about 95 % of cases.
 *
 * Assumes that the structure is right: what a wrong number of stages or a wrong air does cannot show. Gives control back
 * between batches of refits; in Node `simulationCheckInParallel` gives the same result sooner.
 *
 * @param model - from `fitCooler`, with stages
 * @param runs - the runs it was fitted from, in the same order
 * @param options - see `SimulationCheckOptions`
 * @throws ArgumentError if the model has no stages, the runs are others or an option is out of its domain
 * @example
 * const random = seededRandom(3);
 * const timeS = Array.from({ length: 400 }, (_, i) => i);
 * const run = makeRun(
 *   {
 *     timeS,
 *     powerW: timeS.map((t) => (t < 20 ? 10 : 80)),
 *     temperatureC: timeS.map((t) => 27 + (t < 20 ? 0 : 35 * (1 - Math.exp((19 - t) / 60))) + 0.2 * random.normal()),
 *   },
 *   { label: 'step', conditions: { ambientC: 22 } },
 * );
 * const check = await simulationCheck(fitCooler(run, { powerExponent: 0 }), [run], { count: 40, seed: 7 });
 * check.thermalResistanceKPerW.coverageFraction; // => 0.95 within 0.1
 * check.findings; // => []
 */
export async function simulationCheck(
  model: CoolerModel,
  runs: Run | readonly Run[],
  options: SimulationCheckOptions = {},
): Promise<SimulationCheck> {
  return runSeries(
    simulationSeries(model, requireRuns(runs, 'simulationCheck'), options, 'simulationCheck'),
    options,
  );
}

/** Total resistance, K/W, and steady rise, K, of one refit; missing where it did not converge. */
export interface SimulatedRefit {
  readonly resistance: CheckedEstimate;
  readonly rise: CheckedEstimate;
}

export function simulationSeries(
  model: CoolerModel,
  runs: readonly Run[],
  options: SimulationCheckOptions,
  caller: string,
  names: object = SIMULATION_CHECK_NAMES,
): RefitSeries<SimulatedRefit | undefined, SimulationCheck> {
  requireModel(model, caller);
  const { count, seed } = requireSeriesOptions(options, names, DEFAULT_COUNT, caller);
  const { powerW = model.resistanceLaw.atPowerW } = options;
  requireNumber(powerW, { caller, argument: 'options.powerW' }, { above: 0 });
  const fit = resumeFit(model, runs, caller);
  const sensors = runs.map((run, runIndex) => sensorOf(fit, run, runIndex));
  return {
    count,
    replicate(index) {
      const riseK = simulatedRiseK(fit, sensors, randomOfReplicate(seed, index));
      return checkedRefit(fit, riseK, powerW);
    },
    conclude(replicates) {
      const refits = replicates.filter((replicate) => replicate !== undefined);
      if (refits.length < LEAST_REFITS) {
        throw new NumericalError(
          `${caller}: ${refits.length} of ${count} refits of simulated records converged, too few to judge by; ` +
            'the structure is at the edge of what the runs can tell: fit fewer stages',
        );
      }
      const check = (claimed: Estimate, estimates: readonly CheckedEstimate[]): IntervalCheck =>
        checkIntervals(
          requireValue(claimed),
          claimed.kind === 'estimated' ? claimed.standardError : 0,
          estimates,
        );
      const thermalResistanceKPerW = check(
        resistanceAt(model, model.resistanceLaw.atPowerW),
        refits.map(({ resistance }) => resistance),
      );
      const steadyRiseK = check(
        steadyTemperature(model, { powerW, ambientC: 0 }),
        refits.map(({ rise }) => rise),
      );
      const failedCount = count - refits.length;
      return {
        count,
        seed,
        failedCount,
        thermalResistanceKPerW,
        steadyRiseK,
        powerW,
        findings: findingsOf(thermalResistanceKPerW, count, failedCount),
      };
    },
  };
}

/** How a run's thermometer is simulated. */
interface Sensor {
  readonly noise: Autoregression;
  /** Step of the readings and one of them, degrees Celsius; absent where no step shows. */
  readonly grid?: { readonly quantumK: number; readonly originC: number };
}

/** At least this share of the residuals' variance is noise and not rounding. */
const LEAST_NOISE_SHARE = 0.25;

function sensorOf(fit: ResumedFit, run: Run, runIndex: number): Sensor {
  const { record, residualsK, mask } = fit;
  const pieces = record.pieces.filter((piece) => piece.runIndex === runIndex);
  const sampleCount = pieces.reduce((sum, piece) => sum + piece.riseK.length, 0);
  const covariances = new Float64Array(highestOrder(sampleCount) + 1);
  for (const { offset, riseK } of pieces) {
    const end = offset + riseK.length;
    for (let lag = 0; lag < covariances.length; lag++) {
      let sum = 0;
      for (let i = offset + lag; i < end; i++) {
        sum += mask[i] * residualsK[i] * mask[i - lag] * residualsK[i - lag];
      }
      covariances[lag] += sum / sampleCount;
    }
  }
  const quantumK = quantumOf(run.temperatureC);
  // The simulated readings are rounded again: what rounding adds to the variance is left to it.
  const rounding = quantumK === undefined ? 0 : quantumK ** 2 / 12;
  covariances[0] = Math.max(covariances[0] - rounding, LEAST_NOISE_SHARE * covariances[0], Number.MIN_VALUE);
  const scale = hiddenNoiseRatio(fit) ** 2;
  return {
    noise: fitAutoregression(
      covariances.map((covariance) => scale * covariance),
      sampleCount,
    ),
    ...(quantumK === undefined ? {} : { grid: { quantumK, originC: run.temperatureC[0] } }),
  };
}

function simulatedRiseK(
  { record, modelledRiseK }: ResumedFit,
  sensors: readonly Sensor[],
  random: RandomStream,
): Float64Array {
  const simulatedK = new Float64Array(record.sampleCount);
  for (const { runIndex, firstIndex, offset, riseK } of record.pieces) {
    const { noise, grid } = sensors[runIndex];
    const { temperatureC } = record.runs[runIndex];
    const piece = simulatedK.subarray(offset, offset + riseK.length);
    drawAutoregression(noise, random, piece);
    for (let i = 0; i < piece.length; i++) {
      piece[i] += modelledRiseK[offset + i];
      if (grid === undefined) continue;
      // What was subtracted from the reading, its air, is added before rounding and taken off again.
      const airC = temperatureC[firstIndex + i] - riseK[i];
      const stepCount = Math.round((piece[i] + airC - grid.originC) / grid.quantumK);
      piece[i] = grid.originC + stepCount * grid.quantumK - airC;
    }
  }
  return simulatedK;
}

/** One refit with its uncertainty from its own residuals, as `fitCooler` computes it. */
function checkedRefit(fit: ResumedFit, riseK: Float64Array, powerW: number): SimulatedRefit | undefined {
  const { record, structure, layout, mask, sampleWeights } = fit;
  const found = refit(fit, riseK, 'with-rest');
  if (!found.converged) return undefined;
  const { residualsK, inverseGram } = found;
  let weightedSquares = 0;
  for (let i = 0; i < residualsK.length; i++) weightedSquares += sampleWeights[i] * residualsK[i] ** 2;
  const { samplesPerIndependentSample } = residualNoise(record, residualsK, mask);
  const parameterCount = layout.count + structure.stageCount;
  const freeCount = record.sampleCount / samplesPerIndependentSample - parameterCount;
  const scale = weightedSquares / Math.max(1, freeCount);
  const coverageFactor = studentTQuantile(0.975, Math.max(LEAST_DEGREES_OF_FREEDOM, freeCount));
  const total = totalOf(found);
  const logRatio = Math.log(powerW / structure.atPowerW);
  const perKPerW = powerW * Math.exp(-found.powerExponent * logRatio);
  /** Standard error of a function of total resistance and exponent with this gradient. */
  const standardError = (byTotal: number, byExponent: number): number => {
    const gradient = new Float64Array(parameterCount);
    if (layout.exponentIndex >= 0) gradient[layout.exponentIndex] = byExponent;
    gradient.fill(byTotal, layout.count);
    let variance = 0;
    for (let a = 0; a < parameterCount; a++) {
      for (let b = 0; b < parameterCount; b++) variance += gradient[a] * gradient[b] * inverseGram.get(a, b);
    }
    return Math.sqrt(Math.max(0, scale * variance));
  };
  return {
    resistance: { value: total, standardError: standardError(1, 0), coverageFactor },
    rise: {
      value: perKPerW * total,
      standardError: standardError(perKPerW, -perKPerW * total * logRatio),
      coverageFactor,
    },
  };
}

/** A bias above this share of the stated standard error matters. */
const BIAS_SHARE = 0.5;
/** A spread above the stated standard error by more than this, and by more than chance, matters. */
const SPREAD_RATIO = 1.1;

function findingsOf(resistance: IntervalCheck, count: number, failedCount: number): Finding[] {
  const { truth, bias, spread, claimedStandardError } = resistance;
  const findings: Finding[] = [];
  if (
    bias.kind === 'estimated' &&
    Math.abs(bias.value) > BIAS_SHARE * claimedStandardError &&
    bias.interval95[0] * bias.interval95[1] > 0
  ) {
    findings.push({
      code: 'simulated-bias',
      severity: 'warning',
      message:
        `Refits of simulated records give a resistance that is ${formatNumber((100 * bias.value) / truth)} % off on average; the stated ` +
        `standard error is ${formatNumber((100 * claimedStandardError) / truth)} %.`,
      remedy: 'log a longer run or one with a cool-down, or fit fewer stages',
    });
  }
  const byChance = 1 + 2 / Math.sqrt(2 * count);
  if (spread > Math.max(SPREAD_RATIO, byChance) * claimedStandardError) {
    findings.push({
      code: 'standard-error-too-small',
      severity: 'warning',
      message:
        `Refits of simulated records scatter by ${formatNumber((100 * spread) / truth)} %, more than the stated standard error of ` +
        `${formatNumber((100 * claimedStandardError) / truth)} %.`,
      remedy: 'take the larger of the two, or log a longer run',
    });
  }
  return [...findings, ...failedRefits(count, failedCount, 'refits of simulated records')];
}
