import { studentTQuantile } from '../numerics/distributions.js';
import type { Estimate } from '../numerics/estimate.js';
import { estimated, unavailable } from '../numerics/estimates.js';
import type { Finding } from '../runs/finding.js';
import type { RunObservation } from './run-observations.js';

/** Exponents this near to 1 count as proportional. */
const PROPORTIONAL_WITHIN = 0.05;

/** Frequencies must spread over this ratio before proportionality can be judged. */
const TELLING_FREQUENCY_RATIO = 1.03;

/**
 * Work per second and megahertz: the proportional fit y = c·f to averages of throughput and frequency, weighted by
 * their samples, with a standard error that takes each segment (or, below three segments, each bin) as one independent
 * observation [White1980].
 *
 * Beside it y ∝ f^β is fitted; β away from 1 by more than 0.05 and by more than its uncertainty is a finding, and c is
 * then not identifiable.
 *
 * @param observations - averages of load segments; those without throughput are passed over
 * @returns undefined where no throughput was logged
 */
export function fitThroughput(
  observations: readonly RunObservation[],
): { readonly throughputPerMHz: Estimate; readonly findings: readonly Finding[] } | undefined {
  const rows = observations.flatMap(({ throughputPerS, frequencyMHz, sampleCount, segment }) =>
    throughputPerS === undefined || !(throughputPerS > 0)
      ? []
      : [{ throughputPerS, frequencyMHz, weight: sampleCount, segment }],
  );
  if (rows.length === 0) return undefined;
  const segmentCount = new Set(rows.map(({ segment }) => segment)).size;
  const clusters = segmentCount >= 3 ? rows.map(({ segment }) => segment) : rows.map((_, i) => i);
  const clusterCount = segmentCount >= 3 ? segmentCount : rows.length;
  if (clusterCount < 2) return { throughputPerMHz: unavailable('too-few-points'), findings: [] };
  const degreesOfFreedom = clusterCount - 1;

  const proportional = slopeThroughOrigin(
    rows.map(({ frequencyMHz }) => frequencyMHz),
    rows.map(({ throughputPerS }) => throughputPerS),
    rows.map(({ weight }) => weight),
    clusters,
    1,
  );
  const frequencies = rows.map(({ frequencyMHz }) => frequencyMHz);
  const spread = Math.max(...frequencies) / Math.min(...frequencies);
  if (spread > TELLING_FREQUENCY_RATIO && clusterCount > 2) {
    const total = rows.reduce((sum, { weight }) => sum + weight, 0);
    const meanLog = (of: (row: (typeof rows)[number]) => number): number =>
      rows.reduce((sum, row) => sum + (row.weight / total) * Math.log(of(row)), 0);
    const meanX = meanLog((row) => row.frequencyMHz);
    const meanY = meanLog((row) => row.throughputPerS);
    const exponent = slopeThroughOrigin(
      rows.map(({ frequencyMHz }) => Math.log(frequencyMHz) - meanX),
      rows.map(({ throughputPerS }) => Math.log(throughputPerS) - meanY),
      rows.map(({ weight }) => weight),
      clusters,
      2,
    );
    const off = Math.abs(exponent.slope - 1);
    const halfWidth = studentTQuantile(0.975, clusterCount - 2) * exponent.standardError;
    if (off > PROPORTIONAL_WITHIN && off > halfWidth) {
      return {
        throughputPerMHz: unavailable('not-identifiable'),
        findings: [
          {
            code: 'throughput-not-proportional',
            severity: 'warning',
            message: `Throughput goes as frequency to the power ${exponent.slope.toFixed(2)} ± ${halfWidth.toFixed(2)}, not 1: the work waits on something else than the cores, or a run was slowed down behind its reported frequency.`,
            remedy: 'compare runs with checkSlowdown; judge caps by throughput, not by frequency',
          },
        ],
      };
    }
  }
  return {
    throughputPerMHz: estimated(proportional.slope, proportional.standardError, { degreesOfFreedom }),
    findings: [],
  };
}

/** Weighted slope of y = a·x with a cluster-robust standard error; `parameterCount` corrects for small samples. */
function slopeThroughOrigin(
  x: readonly number[],
  y: readonly number[],
  weights: readonly number[],
  clusters: readonly number[],
  parameterCount: number,
): { readonly slope: number; readonly standardError: number } {
  let xx = 0;
  let xy = 0;
  for (let i = 0; i < x.length; i++) {
    xx += weights[i]! * x[i]! * x[i]!;
    xy += weights[i]! * x[i]! * y[i]!;
  }
  const slope = xy / xx;
  const scores = new Map<number, number>();
  for (let i = 0; i < x.length; i++) {
    const score = weights[i]! * x[i]! * (y[i]! - slope * x[i]!);
    scores.set(clusters[i]!, (scores.get(clusters[i]!) ?? 0) + score);
  }
  let squares = 0;
  for (const score of scores.values()) squares += score * score;
  const correction = scores.size / Math.max(1, scores.size - parameterCount);
  return { slope, standardError: Math.sqrt(correction * squares) / xx };
}
