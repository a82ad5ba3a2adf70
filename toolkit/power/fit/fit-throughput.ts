import type { Estimate } from '../../numerics/estimate.js';
import { estimated, unavailable } from '../../numerics/estimates.js';
import { aicc, akaikeWeights } from '../../numerics/information-criterion.js';
import type { Finding } from '../../runs/finding.js';
import { effectiveObservationCount } from './rank-forms.js';
import type { RunObservation } from './run-observations.js';
import type { ThroughputCandidate, ThroughputForm, ThroughputRelation } from './throughput-relation.js';

/** Throughput of runs as a relation, and as a constant where it is proportional to frequency. */
export interface ThroughputFit {
  readonly relation?: ThroughputRelation;
  readonly throughputPerMHz: Estimate;
  readonly findings: readonly Finding[];
}

/** Frequencies must spread over this ratio before a wait can be told. */
const TELLING_FREQUENCY_RATIO = 1.03;

/**
 * What throughput differs by from run to run for reasons of no interest, as a fraction, taken as if learnt from that
 * many earlier runs: what the machine does beside the work.
 */
const RUN_TO_RUN_FRACTION = 0.002;
const RUN_TO_RUN_DEGREES = 3;

/** Share of the time at the middle frequency that must be a wait before it is worth a finding. */
const TELLING_WAIT_FRACTION = 0.05;

interface Row {
  readonly observation: RunObservation;
  readonly throughputPerS: number;
  readonly frequencyMHz: number;
}

/**
 * Fits throughput against frequency: 1/y = wait + cycles/f by weighted least squares on the relative residual
 * 1 − y·(wait + cycles/f), without a wait and with one of at least 0; the better one by the corrected Akaike criterion
 * on the effective number of averages [BurnhamAnderson2002, 2.4].
 *
 * The variance of an average is its scatter, autocorrelation included, and what whole runs differ by: estimated from
 * the segments' mean residuals together with a stated 0.2 %.
 *
 * @param observations - averages of load segments; those without throughput are passed over
 * @param segmentLabels - names of the segments, for the points
 * @returns undefined where no throughput was logged
 */
export function fitThroughput(
  observations: readonly RunObservation[],
  segmentLabels: readonly string[],
): ThroughputFit | undefined {
  const rows = observations.flatMap((observation): Row[] => {
    const { throughputPerS, effectiveFrequencyMHz: frequencyMHz } = observation;
    return throughputPerS === undefined || !(throughputPerS > 0)
      ? []
      : [{ observation, throughputPerS, frequencyMHz }];
  });
  if (rows.length === 0) return undefined;
  if (rows.length < 2) return { throughputPerMHz: unavailable('too-few-points'), findings: [] };
  const frequencies = rows.map(({ frequencyMHz }) => frequencyMHz);
  const tested = [Math.min(...frequencies), Math.max(...frequencies)] as const;
  const telling = tested[1] > TELLING_FREQUENCY_RATIO * tested[0] && rows.length > 3;
  const proportional = fitWithVariances(rows, 'proportional');
  const saturating = telling ? fitWithVariances(rows, 'saturating') : undefined;
  // Both candidates are judged with the weights of the richer one.
  const weights = (saturating ?? proportional).variances;
  const fits = [proportional, ...(saturating === undefined ? [] : [saturating])].map(({ form }) =>
    solve(rows, weights, form),
  );
  const criteria = fits.map((fit) => criterionOf(fit, rows, weights, saturating ?? proportional));
  const shares = criteria.some((value) => value !== undefined)
    ? akaikeWeights(criteria)
    : criteria.map((_, k) => (k === 0 ? 1 : 0));
  const best = fits.length === 2 && shares[1] > 0.5 && fits[1].waitS > 0 ? saturating! : proportional;
  const relation: ThroughputRelation = {
    form: best.form,
    waitS: best.waitS,
    megacycleCount: best.megacycleCount,
    covariance: { parameters: ['waitS', 'megacycleCount'], matrix: best.covariance },
    degreesOfFreedom: best.degreesOfFreedom,
    candidates: candidatesOf(fits, shares, best.form),
    testedFrequencyMHz: tested,
    points: pointsOf(rows, segmentLabels),
  };
  const { value, standardError } = {
    value: 1 / best.megacycleCount,
    standardError: Math.sqrt(best.covariance[1][1]) / best.megacycleCount ** 2,
  };
  return {
    relation,
    throughputPerMHz:
      best.form === 'proportional'
        ? estimated(value, standardError, { degreesOfFreedom: best.degreesOfFreedom })
        : unavailable('not-identifiable'),
    findings: [
      ...waitFindings(relation),
      ...narrowFindings(telling, tested),
      ...fasterFindings(rows, weights, telling),
    ],
  };
}

interface Solved {
  readonly form: ThroughputForm;
  readonly waitS: number;
  readonly megacycleCount: number;
  readonly covariance: readonly (readonly number[])[];
  /** 1 − y·(wait + cycles/f). */
  readonly residuals: Float64Array;
}

interface FittedWithVariances extends Solved {
  readonly variances: Float64Array;
  readonly degreesOfFreedom: number;
}

/** Weighted least squares for given relative variances; a negative wait stays at 0. */
function solve(rows: readonly Row[], variances: Float64Array, form: ThroughputForm): Solved {
  let aa = 0;
  let ab = 0;
  let bb = 0;
  let a1 = 0;
  let b1 = 0;
  rows.forEach(({ throughputPerS, frequencyMHz }, i) => {
    const weight = 1 / variances[i];
    const a = throughputPerS;
    const b = throughputPerS / frequencyMHz;
    aa += weight * a * a;
    ab += weight * a * b;
    bb += weight * b * b;
    a1 += weight * a;
    b1 += weight * b;
  });
  const determinant = aa * bb - ab * ab;
  const free = form === 'saturating' && determinant > 1e-12 * aa * bb;
  const waitS = free ? Math.max(0, (bb * a1 - ab * b1) / determinant) : 0;
  const megacycleCount = (b1 - ab * waitS) / bb;
  const residuals = Float64Array.from(
    rows,
    ({ throughputPerS, frequencyMHz }) => 1 - throughputPerS * (waitS + megacycleCount / frequencyMHz),
  );
  return {
    form,
    waitS,
    megacycleCount,
    covariance: free
      ? [
          [bb / determinant, -ab / determinant],
          [-ab / determinant, aa / determinant],
        ]
      : [
          [0, 0],
          [0, 1 / bb],
        ],
    residuals,
  };
}

/** Solves, takes the variances from the residuals, and solves again. */
function fitWithVariances(rows: readonly Row[], form: ThroughputForm): FittedWithVariances {
  let variances: Float64Array = Float64Array.from(rows, ({ observation }) => 1 / observation.sampleCount);
  let degreesOfFreedom = RUN_TO_RUN_DEGREES;
  for (let pass = 0; pass < 3; pass++) {
    const { residuals } = solve(rows, variances, form);
    ({ variances, degreesOfFreedom } = variancesFrom(rows, residuals, form === 'saturating' ? 2 : 1));
  }
  return { ...solve(rows, variances, form), variances, degreesOfFreedom };
}

/**
 * Relative variance of every average: scatter about the mean of its segment, divided by its samples, times what
 * correlation takes off; the variances of a segment together carry the part that is common to a whole run.
 */
function variancesFrom(
  rows: readonly Row[],
  residuals: Float64Array,
  parameterCount: number,
): { readonly variances: Float64Array; readonly degreesOfFreedom: number } {
  const segments = new Map<number, number[]>();
  rows.forEach(({ observation }, i) => {
    const members = segments.get(observation.segment);
    if (members === undefined) segments.set(observation.segment, [i]);
    else members.push(i);
  });
  let squares = 0;
  let freedom = 0;
  const means = new Map<number, { readonly mean: number; readonly sampleCount: number }>();
  const centred = Float64Array.from(residuals);
  for (const [segment, members] of segments) {
    const sampleCount = members.reduce((sum, i) => sum + rows[i].observation.sampleCount, 0);
    const mean =
      members.reduce((sum, i) => sum + rows[i].observation.sampleCount * residuals[i], 0) / sampleCount;
    means.set(segment, { mean, sampleCount });
    for (const i of members) {
      centred[i] = residuals[i] - mean;
      squares += rows[i].observation.sampleCount * centred[i] ** 2;
    }
    freedom += members.length - 1;
  }
  const perSample = Math.max(freedom > 0 ? squares / freedom : 0, 1e-10);
  const noise = Float64Array.from(rows, ({ observation }) => perSample / observation.sampleCount);
  const observations = rows.map(({ observation }) => observation);
  const correlated = rows.length / effectiveObservationCount(observations, centred, noise);
  // What the segments' means scatter by beyond their noise, with the stated allowance as a prior.
  let between = 0;
  for (const { mean, sampleCount } of means.values()) {
    between += Math.max(0, mean * mean - (correlated * perSample) / sampleCount);
  }
  const spare = Math.max(0, means.size - parameterCount);
  const degreesOfFreedom = RUN_TO_RUN_DEGREES + spare;
  const offsetVariance =
    (RUN_TO_RUN_DEGREES * RUN_TO_RUN_FRACTION ** 2 + (spare > 0 ? between : 0)) / degreesOfFreedom;
  const variances = Float64Array.from(rows, ({ observation }, i) => {
    const { sampleCount } = means.get(observation.segment)!;
    return correlated * noise[i] + (offsetVariance * sampleCount) / observation.sampleCount;
  });
  return { variances, degreesOfFreedom };
}

function criterionOf(
  fit: Solved,
  rows: readonly Row[],
  variances: Float64Array,
  richest: Solved,
): number | undefined {
  const observations = rows.map(({ observation }) => observation);
  const count = effectiveObservationCount(observations, richest.residuals, variances);
  let squares = 0;
  for (let i = 0; i < rows.length; i++) squares += fit.residuals[i] ** 2 / variances[i];
  return aicc({
    sumOfSquares: count * Math.max(squares / rows.length, 1e-6),
    sampleCount: count,
    parameterCount: fit.form === 'saturating' ? 2 : 1,
  });
}

function candidatesOf(
  fits: readonly Solved[],
  shares: readonly number[],
  chosen: ThroughputForm,
): ThroughputCandidate[] {
  const ranked = fits.map(({ form, residuals }, k) => ({
    form,
    parameterCount: form === 'saturating' ? 2 : 1,
    residualRmsFraction: Math.sqrt(
      residuals.reduce((sum, value) => sum + value * value, 0) / residuals.length,
    ),
    weight: shares[k],
    chosen: form === chosen,
  }));
  if (ranked.length === 2) return ranked;
  return [
    ...ranked,
    {
      form: 'saturating',
      parameterCount: 2,
      residualRmsFraction: 0,
      weight: 0,
      chosen: false,
      rejected: 'the frequencies lie too close together to tell a wait',
    },
  ];
}

function pointsOf(rows: readonly Row[], segmentLabels: readonly string[]): ThroughputRelation['points'] {
  const sums = new Map<number, { count: number; frequency: number; work: number }>();
  for (const { observation, throughputPerS, frequencyMHz } of rows) {
    const { segment, sampleCount } = observation;
    const sum = sums.get(segment) ?? { count: 0, frequency: 0, work: 0 };
    sum.count += sampleCount;
    sum.frequency += sampleCount * frequencyMHz;
    sum.work += sampleCount * throughputPerS;
    sums.set(segment, sum);
  }
  return [...sums].map(([segment, { count, frequency, work }]) => ({
    label: segmentLabels[segment],
    frequencyMHz: frequency / count,
    throughputPerS: work / count,
  }));
}

function waitFindings(relation: ThroughputRelation): Finding[] {
  const [low, high] = relation.testedFrequencyMHz;
  const middleMHz = Math.sqrt(low * high);
  const share = (relation.waitS * middleMHz) / (relation.megacycleCount + relation.waitS * middleMHz);
  if (share < TELLING_WAIT_FRACTION) return [];
  return [
    {
      code: 'throughput-saturates',
      severity: 'note',
      message: `At ${middleMHz.toFixed(0)} MHz the work waits ${(100 * share).toFixed(0)} % of its time for something that does not follow the core clock: throughput rises less than frequency, and caps are judged by throughput.`,
      remedy:
        'if no memory-bound work is known here, compare the runs with checkSlowdown: one slowed down behind its reported frequency looks alike',
    },
  ];
}

function narrowFindings(telling: boolean, [low, high]: readonly [number, number]): Finding[] {
  if (telling) return [];
  return [
    {
      code: 'throughput-range-narrow',
      severity: 'note',
      message: `Throughput was logged from ${low.toFixed(0)} to ${high.toFixed(0)} MHz only: whether the work waits for memory cannot be told, and throughput is taken as proportional to frequency.`,
      remedy: 'log throughput at a second power cap',
    },
  ];
}

/** Work that rises faster than the clock is none of the two forms: some run was slowed down, or did other work. */
function fasterFindings(rows: readonly Row[], variances: Float64Array, telling: boolean): Finding[] {
  if (!telling) return [];
  let total = 0;
  let meanX = 0;
  let meanY = 0;
  rows.forEach(({ frequencyMHz, throughputPerS }, i) => {
    total += 1 / variances[i];
    meanX += Math.log(frequencyMHz) / variances[i];
    meanY += Math.log(throughputPerS) / variances[i];
  });
  meanX /= total;
  meanY /= total;
  let xx = 0;
  let xy = 0;
  rows.forEach(({ frequencyMHz, throughputPerS }, i) => {
    const x = Math.log(frequencyMHz) - meanX;
    xx += (x * x) / variances[i];
    xy += (x * (Math.log(throughputPerS) - meanY)) / variances[i];
  });
  const exponent = xy / xx;
  const standardError = 1 / Math.sqrt(xx);
  if (exponent < 1.05 || exponent - 1 < 3 * standardError) return [];
  return [
    {
      code: 'throughput-faster-than-frequency',
      severity: 'warning',
      message: `Throughput goes as frequency to the power ${exponent.toFixed(2)} ± ${(2 * standardError).toFixed(2)}, more than 1: the runs at low frequency did less work per cycle than those at high frequency, which no processor does by itself.`,
      remedy: 'check that all runs did the same work, and compare them with checkSlowdown',
    },
  ];
}
