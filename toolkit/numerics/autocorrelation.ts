import {
  ArgumentError,
  type KnownNames,
  NumericalError,
  requireKnownNames,
  requireNumber,
} from '../errors.js';
import { studentTCdf } from './distributions.js';
import type { Estimate } from './estimate.js';
import { estimated, unavailable } from './estimates.js';

// Longer series are averaged in blocks first: the cost of the lags grows with the square of the length.
const longestDirect = 16_384;
// Beyond this share of the variance hidden in the fitted parameters the correction would amplify itself.
const largestHiddenByMean = 0.5;
const largestHiddenByOthers = 0.3;

/**
 * Sample autocorrelations of a series of equally spaced samples.
 *
 * r_k = Σ(x_i − x̄)(x_{i+k} − x̄) / Σ(x_i − x̄)², the definition of the NIST reference datasets.
 *
 * @param x - samples, any unit; length n >= 2
 * @param maxLag - largest lag, 0 to n − 1
 * @returns autocorrelations for lags 0 to maxLag, the first of them 1
 * @throws ArgumentError if an argument lies outside its domain
 * @throws NumericalError if the samples are all equal
 * @example
 * autocorrelations([1, 2, 3, 2, 1], 1); // => [1, 0.05714286] within 1e-8
 */
export function autocorrelations(x: ArrayLike<number>, maxLag: number): Float64Array {
  const caller = 'autocorrelations';
  requireSamples(x, caller, 2);
  if (!Number.isInteger(maxLag) || maxLag < 0 || maxLag > x.length - 1)
    throw new ArgumentError({
      caller,
      argument: 'maxLag',
      expected: `a whole number from 0 to ${x.length - 1}, one less than the number of samples`,
      received: maxLag,
    });
  const deviations = deviationsFromMean(x).deviations;
  const square = laggedProduct(deviations, 0);
  if (square === 0)
    throw new NumericalError(
      'autocorrelations: all samples are equal, so their correlation is not defined; check for a stuck sensor',
    );
  return Float64Array.from({ length: maxLag + 1 }, (_, k) => laggedProduct(deviations, k) / square);
}

/** How `samplesPerIndependentSample` treats a series. */
export interface IndependenceOptions {
  /**
   * Number of smooth parameters that were fitted to give these residuals, the mean counted; default 1, the mean
   * that the function itself removes.
   */
  readonly fittedCount?: number;
}

const INDEPENDENCE_NAMES: KnownNames<IndependenceOptions> = { fittedCount: true };

/**
 * How many successive samples carry as much information about their mean as one independent sample:
 * τ = 1 + 2 Σ ρ_k, the integrated autocorrelation time in samples.
 *
 * The sum runs over the lags before the first correlation that is not positive. Removing a mean from a short record
 * hides the slowest part of its own fluctuations and lowers every sample autocorrelation by about τ/n, as in the
 * classical bias of a first-order process [MarriottPope1954]; the correlations are raised by that again, iterated until
 * τ agrees with itself. What further fitted parameters hide is added once. On simulated records the middle estimate
 * lies within 10 % of the truth where they hold 30 correlation times, and about 20 % below it (first-order process)
 * or 35 % below it (the same under as much white noise) where they hold only ten.
 *
 * @param x - equally spaced samples or residuals, any unit; length n >= 1
 * @param options - how many parameters were fitted
 * @returns τ, from 1 (negative correlation is not credited) to n/2; 1 for equal samples
 * @throws ArgumentError if there is no sample or one is not finite
 * @example
 * samplesPerIndependentSample([1, -1, 1, -1, 1, -1, 1, -1]); // => 1
 */
export function samplesPerIndependentSample(x: ArrayLike<number>, options: IndependenceOptions = {}): number {
  const caller = 'samplesPerIndependentSample';
  requireSamples(x, caller, 1);
  requireKnownNames(options, INDEPENDENCE_NAMES, { caller, argument: 'options' });
  const fittedCount = options.fittedCount ?? 1;
  requireNumber(fittedCount, { caller, argument: 'options.fittedCount' }, { atLeast: 1 });
  return independentSpacing(deviationsFromMean(x).deviations, fittedCount);
}

/** The mean of correlated samples with its uncertainty. */
export interface CorrelatedMean {
  readonly mean: number;
  /** Of single samples about the mean, corrected for what the mean of a short record hides. */
  readonly standardDeviation: number;
  /** Of the mean; absent where the samples cannot tell it. */
  readonly standardError?: number;
  readonly samplesPerIndependentSample: number;
  /** Number of independent samples the record is worth. */
  readonly effectiveSampleCount: number;
  /** Mean and 95 % interval, Student's t with the effective number of samples. */
  readonly estimate: Estimate;
}

/** What is known about the samples besides their values. */
export interface CorrelatedMeanOptions {
  /**
   * Resolution step of the readings, in their unit. Rounding in a quiet record does not average out, so
   * quantum²/12 is added to the variance of the mean [JCGM100, F.2.2.1].
   */
  readonly quantum?: number;
}

const MEAN_NAMES: KnownNames<CorrelatedMeanOptions> = { quantum: true };

/**
 * Mean of equally spaced, correlated samples, with the standard error that their correlation leaves.
 *
 * u²(x̄) = s² τ/n with τ of `samplesPerIndependentSample` and s² = Σ(x_i − x̄)²/(n − τ); the 95 % interval uses
 * Student's t with n/τ − 1 degrees of freedom. Assumes a stationary series: test for drift first
 * (`slopeWithAutocorrelation`).
 *
 * @param x - samples, any unit; length n >= 1
 * @param options - resolution of the readings
 * @returns the mean; its uncertainty is unavailable for a single sample, and for equal samples of unknown resolution
 * @throws ArgumentError if there is no sample, one is not finite or the resolution is not positive
 * @example
 * meanWithAutocorrelation([61.2, 61.4, 61.1, 61.3, 61.2, 61.3, 61.2, 61.4]).mean; // => 61.2625
 */
export function meanWithAutocorrelation(
  x: ArrayLike<number>,
  options: CorrelatedMeanOptions = {},
): CorrelatedMean {
  const caller = 'meanWithAutocorrelation';
  requireSamples(x, caller, 1);
  requireKnownNames(options, MEAN_NAMES, { caller, argument: 'options' });
  const { quantum } = options;
  if (quantum !== undefined) requireNumber(quantum, { caller, argument: 'options.quantum' }, { above: 0 });
  const n = x.length;
  const { mean, deviations } = deviationsFromMean(x);
  const square = laggedProduct(deviations, 0);
  const spacing = independentSpacing(deviations, 1);
  const effectiveSampleCount = n / spacing;
  const variance = n > spacing ? square / (n - spacing) : 0;
  const common = {
    mean,
    standardDeviation: Math.sqrt(variance),
    samplesPerIndependentSample: spacing,
    effectiveSampleCount,
  };
  if (n < 2) return { ...common, estimate: unavailable('too-few-points') };
  if (square === 0 && quantum === undefined) return { ...common, estimate: unavailable('not-identifiable') };
  const rounding = quantum === undefined ? 0 : quantum ** 2 / 12;
  const standardError = Math.sqrt((variance * spacing) / n + rounding);
  return {
    ...common,
    standardError,
    estimate: estimated(mean, standardError, { degreesOfFreedom: Math.max(1, effectiveSampleCount - 1) }),
  };
}

/** A straight line through correlated samples, for testing whether they drift. */
export interface CorrelatedSlope {
  /** Unit of x per unit of t. */
  readonly slope: number;
  /** Of the slope; absent where the samples cannot tell it. */
  readonly standardError?: number;
  readonly samplesPerIndependentSample: number;
  /** Number of independent samples the record is worth. */
  readonly effectiveSampleCount: number;
  /** Slope and 95 % interval, Student's t with the effective number of samples less two. */
  readonly estimate: Estimate;
  /** Chance of a slope at least this large, either way, where there is no drift; absent with `standardError`. */
  readonly chanceWithoutDrift?: number;
}

/**
 * Slope of correlated samples against time, with the standard error that their correlation leaves: a drift test.
 *
 * Ordinary least squares; u²(slope) = s² τ/Σ(t_i − t̄)² with τ of the residuals (two parameters fitted) and
 * s² = Σe²/(n − 2 τ). The times need not be equally spaced, but the correlation is taken per sample.
 *
 * @param t - times, any unit, not all equal; length n
 * @param x - samples; length n >= 2
 * @throws ArgumentError if the lengths differ, a number is not finite or the times are all equal
 * @example
 * slopeWithAutocorrelation([0, 1, 2, 3, 4, 5], [20, 20.4, 21.1, 21.4, 22, 22.6]).slope; // => 0.51714286 within 1e-8
 */
export function slopeWithAutocorrelation(t: ArrayLike<number>, x: ArrayLike<number>): CorrelatedSlope {
  const caller = 'slopeWithAutocorrelation';
  requireSamples(x, caller, 2);
  if (t.length !== x.length)
    throw new ArgumentError({
      caller,
      argument: 't',
      expected: `as long as \`x\`, ${x.length}`,
      received: t.length,
    });
  requireSamples(t, caller, 2, 't');
  const n = x.length;
  const times = deviationsFromMean(t).deviations;
  const deviations = deviationsFromMean(x).deviations;
  const spread = laggedProduct(times, 0);
  if (spread === 0)
    throw new ArgumentError({ caller, argument: 't', expected: 'times that are not all equal', received: t });
  let product = 0;
  for (let i = 0; i < n; i += 1) product += times[i] * deviations[i];
  const slope = product / spread;
  for (let i = 0; i < n; i += 1) deviations[i] -= slope * times[i];
  const square = laggedProduct(deviations, 0);
  // Two parameters are fitted, so that the record can hold no fewer than four independent samples.
  const spacing = Math.min(independentSpacing(deviations, 2), Math.max(1, n / 4));
  const effectiveSampleCount = n / spacing;
  const common = { slope, samplesPerIndependentSample: spacing, effectiveSampleCount };
  if (n < 3) return { ...common, estimate: unavailable('too-few-points') };
  if (square === 0) return { ...common, estimate: unavailable('not-identifiable') };
  const standardError = Math.sqrt(((square / (n - 2 * spacing)) * spacing) / spread);
  const degreesOfFreedom = Math.max(1, effectiveSampleCount - 2);
  return {
    ...common,
    standardError,
    estimate: estimated(slope, standardError, { degreesOfFreedom }),
    chanceWithoutDrift: 2 * studentTCdf(-Math.abs(slope) / standardError, degreesOfFreedom),
  };
}

function independentSpacing(deviations: Float64Array, fittedCount: number): number {
  const n = deviations.length;
  const variance = laggedProduct(deviations, 0) / n;
  if (variance === 0 || n < 4) return 1;
  if (n > longestDirect) {
    // The variance of the overall mean is the same whether it is read from the samples or from means of blocks.
    const size = Math.ceil(n / longestDirect);
    const blocks = blockMeans(deviations, size);
    const ratio = laggedProduct(blocks, 0) / blocks.length / variance;
    return Math.min(Math.max(1, size * ratio * independentSpacing(blocks, fittedCount)), n / 2);
  }

  // Correlations are computed as far as the sum reaches, once.
  const lagCount = Math.floor(n / 2);
  const known: number[] = [1];
  const correlation = (k: number): number => {
    if (k === known.length) known.push(laggedProduct(deviations, k) / (n - k) / variance);
    return known[k];
  };
  const sumOver = (hidden: number): number => {
    let sum = 1;
    for (let k = 1; k < lagCount; k += 1) {
      const raised = correlation(k) * (1 - hidden) + hidden;
      if (raised <= 0) break;
      sum += 2 * raised;
    }
    return Math.min(sum, n / 2);
  };

  let spacing = 1;
  for (let iteration = 0; iteration < 50; iteration += 1) {
    const next = sumOver(Math.min(spacing / n, largestHiddenByMean));
    if (Math.abs(next - spacing) <= 1e-6 * spacing) break;
    spacing = next;
  }
  if (fittedCount > 1) {
    const hidden = Math.max(spacing / n, Math.min((fittedCount * spacing) / n, largestHiddenByOthers));
    spacing = sumOver(hidden);
  }
  return Math.max(1, spacing);
}

function blockMeans(x: Float64Array, size: number): Float64Array {
  const means = new Float64Array(Math.floor(x.length / size));
  for (let b = 0; b < means.length; b += 1) {
    let sum = 0;
    for (let i = b * size; i < (b + 1) * size; i += 1) sum += x[i];
    means[b] = sum / size;
  }
  return means;
}

function deviationsFromMean(x: ArrayLike<number>): {
  readonly mean: number;
  readonly deviations: Float64Array;
} {
  const n = x.length;
  let sum = 0;
  for (let i = 0; i < n; i += 1) sum += x[i];
  const rough = sum / n;
  // A second pass removes the rounding of the first sum, which matters where the mean dwarfs the spread.
  let rest = 0;
  for (let i = 0; i < n; i += 1) rest += x[i] - rough;
  const mean = rough + rest / n;
  const deviations = new Float64Array(n);
  for (let i = 0; i < n; i += 1) deviations[i] = x[i] - mean;
  return { mean, deviations };
}

function laggedProduct(deviations: Float64Array, lag: number): number {
  let sum = 0;
  for (let i = lag; i < deviations.length; i += 1) sum += deviations[i] * deviations[i - lag];
  return sum;
}

function requireSamples(x: ArrayLike<number>, caller: string, atLeast: number, argument = 'x'): void {
  if (!(x.length >= atLeast))
    throw new ArgumentError({
      caller,
      argument,
      expected: `at least ${atLeast} ${atLeast === 1 ? 'number' : 'numbers'} long`,
      received: x.length,
    });
  for (let i = 0; i < x.length; i += 1) {
    if (!Number.isFinite(x[i]))
      requireNumber(x[i], {
        caller,
        argument: `${argument}[${i}]`,
        remedy: 'leave out samples that are missing',
      });
  }
}
