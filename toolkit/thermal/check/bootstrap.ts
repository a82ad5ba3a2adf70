import { ArgumentError, type KnownNames, requireNumber } from '../../errors.js';
import type { Estimate, EstimatedNumber } from '../../numerics/estimate.js';
import { unavailable } from '../../numerics/estimates.js';
import { quantileOf } from '../../numerics/order-statistic.js';
import type { RandomStream } from '../../numerics/random.js';
import type { Finding } from '../../runs/finding.js';
import { requireRuns } from '../../runs/require-run.js';
import type { Run } from '../../runs/run.js';
import type { CoolerModel, CoolerStage } from '../cooler-model.js';
import { totalOf } from '../fit/fit-candidate.js';
import type { FitRecord } from '../fit/fit-record.js';
import { requireModel } from '../require-model.js';
import { requireStages } from '../require-stages.js';
import {
  failedRefits,
  type RefitSeries,
  type RefitSeriesOptions,
  randomOfReplicate,
  requireSeriesOptions,
  runSeries,
  SERIES_OPTION_NAMES,
} from './refit-series.js';
import { hiddenNoiseRatio, type Refit, type ResumedFit, refit, resumeFit } from './resumed-fit.js';

/** Options of `bootstrapCooler`; default count 1000. */
export interface BootstrapCoolerOptions extends RefitSeriesOptions {
  /** Length of the blocks, s. Default: what the correlation of the residuals asks for. */
  readonly blockS?: number;
  /** Power of the steady rise, W. Default: where the model states its resistance. */
  readonly powerW?: number;
}

export const BOOTSTRAP_NAMES: KnownNames<BootstrapCoolerOptions> = {
  ...SERIES_OPTION_NAMES,
  blockS: true,
  powerW: true,
};

/** Percentile intervals of a fit from resampled residuals. Values are the model's own. */
export interface CoolerBootstrap {
  readonly count: number;
  readonly seed: number;
  readonly blockS: number;
  /** Refits that did not converge; they are left out. */
  readonly failedCount: number;
  /** At the power where the model states it. */
  readonly thermalResistanceKPerW: Estimate;
  readonly stages: readonly CoolerStage[];
  readonly sensorLagS?: Estimate;
  /** Steady rise over the air at `powerW`; its steady temperature in known air is as uncertain. */
  readonly steadyRiseK: Estimate;
  readonly powerW: number;
  readonly findings: readonly Finding[];
}

const DEFAULT_COUNT = 1000;

/**
 * Intervals of a fit by moving-block bootstrap of its residuals [Kuensch1989]: blocks of residuals, drawn at random with
 * their order and correlation inside, are laid over the fitted temperatures, and the model's structure is fitted anew.
 * Standard errors are standard deviations of the refits, intervals their 2.5 and 97.5 % quantiles.
 *
 * No formula for the covariance and no normal distribution is assumed; but the structure must be right and the residuals
 * stationary, so a model with the finding `structured-residuals` is refused. What no resampling can show is not in these
 * intervals: the air, the mounts, the number of stages, correlations longer than a block.
 *
 * Default block length: the one with the least mean square error of the variance of a mean for a first-order process as
 * correlated as the residuals, (3/2)^(1/3) ((τ² − 1) / 2τ)^(2/3) n^(1/3) samples, τ the samples per independent sample
 * [Kuensch1989] [PolitisWhite2004]; not less than 3 τ.
 *
 * @param model - from `fitCooler`, with stages
 * @param runs - the runs it was fitted from, in the same order
 * @param options - see `BootstrapCoolerOptions`
 * @throws ArgumentError if the residuals show structure, the model has no stages, the runs are others or an option is
 * out of its domain
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
 * const model = fitCooler(run, { powerExponent: 0 });
 * const { thermalResistanceKPerW } = await bootstrapCooler(model, [run], { count: 40, seed: 7 });
 * requireValue(thermalResistanceKPerW); // => 0.5 within 2e-3
 */
export async function bootstrapCooler(
  model: CoolerModel,
  runs: Run | readonly Run[],
  options: BootstrapCoolerOptions = {},
): Promise<CoolerBootstrap> {
  return runSeries(
    bootstrapSeries(model, requireRuns(runs, 'bootstrapCooler'), options, 'bootstrapCooler'),
    options,
  );
}

export function bootstrapSeries(
  model: CoolerModel,
  runs: readonly Run[],
  options: BootstrapCoolerOptions,
  caller: string,
  names: object = BOOTSTRAP_NAMES,
): RefitSeries<Refit, CoolerBootstrap> {
  requireModel(model, caller);
  const { count, seed } = requireSeriesOptions(options, names, DEFAULT_COUNT, caller);
  const { powerW = model.resistanceLaw.atPowerW } = options;
  requireNumber(powerW, { caller, argument: 'options.powerW' }, { above: 0 });
  requireNoStructure(model, caller);
  const fit = resumeFit(model, runs, caller);
  const blockLength = blockLengthOf(fit, options, caller);
  const pools = runs.map((_, runIndex) => poolOf(fit, runIndex));
  /** Filled anew by each replicate: allocating would cost a tenth of the refit. */
  const riseK = new Float64Array(fit.record.sampleCount);
  const { resistanceLaw } = model;
  const { timeConstantsS, resistancesKPerW, sensorLagS } = requireStages(model, caller);
  return {
    count,
    replicate(index) {
      const random = randomOfReplicate(seed, index);
      riseK.set(fit.modelledRiseK);
      for (const { runIndex, offset, stepS } of fit.record.pieces) {
        addBlocks(riseK, offset, offset + stepS.length, pools[runIndex], blockLength, random);
      }
      return refit(fit, riseK);
    },
    conclude(replicates) {
      const refits = replicates.filter(({ converged }) => converged);
      const failedCount = count - refits.length;
      const estimate = (value: number, of: (one: Refit) => number): Estimate =>
        refits.length < 2 ? unavailable('not-identifiable') : percentileEstimate(value, refits.map(of));
      const steadyK = (resistanceKPerW: number, powerExponent: number): number =>
        powerW * resistanceKPerW * (powerW / resistanceLaw.atPowerW) ** -powerExponent;
      return {
        count,
        seed,
        blockS: blockLength * fit.record.medianStepS,
        failedCount,
        thermalResistanceKPerW: estimate(resistanceLaw.thermalResistanceKPerW, totalOf),
        stages: timeConstantsS.map((timeConstantS, k) => ({
          timeConstantS: estimate(timeConstantS, (one) => one.timeConstantsS[k]),
          resistanceKPerW: estimate(resistancesKPerW[k], (one) => one.resistancesKPerW[k]),
        })),
        ...(sensorLagS === undefined
          ? {}
          : { sensorLagS: estimate(sensorLagS, (one) => one.sensorLagS ?? Number.NaN) }),
        steadyRiseK: estimate(
          steadyK(resistanceLaw.thermalResistanceKPerW, resistanceLaw.powerExponent),
          (one) => steadyK(totalOf(one), one.powerExponent),
        ),
        powerW,
        findings: failedRefits(count, failedCount, 'refits'),
      };
    },
  };
}

function requireNoStructure(model: CoolerModel, caller: string): void {
  const structure = model.findings.find(({ code }) => code === 'structured-residuals');
  if (structure === undefined) return;
  throw new ArgumentError({
    caller,
    argument: 'model',
    expected: 'a model whose residuals are noise, for they are drawn again in another order',
    received: structure.message,
    remedy: 'leave out what departs, or allow more stages',
  });
}

/** Blocks of at least this many correlation lengths keep most of the correlation inside. */
const LEAST_CORRELATION_LENGTHS = 3;
/** Fewer blocks than this in the longest piece resample next to nothing. */
const LEAST_BLOCKS = 5;

function blockLengthOf(
  { record, noise }: ResumedFit,
  { blockS }: BootstrapCoolerOptions,
  caller: string,
): number {
  const { medianStepS, longestPieceS } = record;
  if (blockS !== undefined) {
    requireNumber(
      blockS,
      {
        caller,
        argument: 'options.blockS',
        remedy: 'a fifth of the longest stretch without a gap is the most',
      },
      { atLeast: medianStepS, atMost: longestPieceS / LEAST_BLOCKS },
    );
    return Math.round(blockS / medianStepS);
  }
  const spacing = noise.samplesPerIndependentSample;
  const longest = longestCount(record);
  const best = Math.cbrt(1.5 * ((spacing ** 2 - 1) / (2 * spacing)) ** 2 * longest);
  return Math.max(
    1,
    Math.min(
      Math.floor(longest / LEAST_BLOCKS),
      Math.ceil(Math.max(best, LEAST_CORRELATION_LENGTHS * spacing)),
    ),
  );
}

function longestCount({ pieces }: FitRecord): number {
  return pieces.reduce((most, { stepS }) => Math.max(most, stepS.length), 0);
}

/** Residuals of one run to draw from, K: about their mean, as large as the noise, spikes left out. */
function poolOf(fit: ResumedFit, runIndex: number): Float64Array {
  const { record, residualsK, mask } = fit;
  const kept: number[] = [];
  for (const piece of record.pieces) {
    if (piece.runIndex !== runIndex) continue;
    for (let i = piece.offset; i < piece.offset + piece.stepS.length; i++) {
      if (mask[i] !== 0) kept.push(residualsK[i]);
    }
  }
  const mean = kept.reduce((sum, residual) => sum + residual, 0) / kept.length;
  const ratio = hiddenNoiseRatio(fit);
  return Float64Array.from(kept, (residual) => ratio * (residual - mean));
}

/** Adds blocks of the pool, drawn at random, one after the other; stands apart because the engine compiles it better so. */
function addBlocks(
  into: Float64Array,
  begin: number,
  end: number,
  pool: Float64Array,
  blockLength: number,
  random: RandomStream,
): void {
  const length = Math.min(blockLength, pool.length);
  const places = pool.length - length + 1;
  for (let i = begin; i < end; i += length) {
    const shift = random.integer(places) - i;
    const stop = Math.min(end, i + length);
    for (let j = i; j < stop; j++) into[j] += pool[j + shift];
  }
}

function percentileEstimate(value: number, replicates: readonly number[]): EstimatedNumber {
  const mean = replicates.reduce((sum, one) => sum + one, 0) / replicates.length;
  const squares = replicates.reduce((sum, one) => sum + (one - mean) ** 2, 0);
  return {
    kind: 'estimated',
    value,
    standardError: Math.sqrt(squares / (replicates.length - 1)),
    interval95: [quantileOf(replicates, 0.025), quantileOf(replicates, 0.975)],
  };
}
