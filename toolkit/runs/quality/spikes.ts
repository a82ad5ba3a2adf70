import type { Finding } from '../finding.js';
import { quantumOf } from '../quantum.js';
import type { RunSamples } from '../run.js';
import { atRank, spreadSample } from '../spread-sample.js';
import { listedLines } from './listed-lines.js';

/** A spike stands out of its neighbourhood by this many robust standard deviations. */
const SPIKE_IN_DEVIATIONS = 8;

/** Median absolute deviation to standard deviation, for normal noise: 1 / Φ⁻¹(3/4). */
const DEVIATION_PER_MAD = 1.4826;

/**
 * Indices of samples that stand out of their neighbourhood: further from the median of the five samples around
 * them than eight robust standard deviations of that distance [Hampel1974] and than `floor`.
 *
 * A step is no spike, nor is the overshoot at its edge; one or two samples that jump and come back are.
 * The robust deviation is 1.4826 times the median absolute distance, taken from at most 8192 samples.
 */
export function spikesOf(values: ArrayLike<number>, floor: number): readonly number[] {
  const n = values.length;
  if (n < 5) return [];
  const distance = (i: number): number => Math.abs(values[i] - medianOfFive(values, i));
  const distances = spreadSample(n - 4, (k) => distance(k + 2));
  const threshold = Math.max(floor, SPIKE_IN_DEVIATIONS * DEVIATION_PER_MAD * atRank(distances, 0.5));
  const spikes: number[] = [];
  for (let i = 2; i < n - 2; i++) {
    const value = values[i];
    // Most samples lie near both neighbours and cannot be far from the median of the five.
    if (Math.abs(value - values[i - 1]) < threshold && Math.abs(value - values[i + 1]) < threshold) continue;
    if (distance(i) > threshold && !isAtStep(values, i, threshold)) spikes.push(i);
  }
  return spikes;
}

/** Whether the level changes here for good, by the medians of three before and after: the overshoot of a step. */
function isAtStep(values: ArrayLike<number>, i: number, threshold: number): boolean {
  if (i < 3 || i > values.length - 4) return false;
  return Math.abs(medianOfThree(values, i + 2) - medianOfThree(values, i - 2)) > threshold;
}

/** Median of the values at i − 1 … i + 1. */
function medianOfThree(values: ArrayLike<number>, i: number): number {
  const a = values[i - 1];
  const b = values[i];
  const c = values[i + 1];
  return Math.max(Math.min(a, b), Math.min(Math.max(a, b), c));
}

/** Median of the values at i − 2 … i + 2. */
function medianOfFive(values: ArrayLike<number>, i: number): number {
  let a = values[i - 2];
  let b = values[i - 1];
  let c = values[i];
  let d = values[i + 1];
  const e = values[i + 2];
  // After these exchanges a is the smallest and d the largest of the four: both can be dropped.
  if (a > b) [a, b] = [b, a];
  if (c > d) [c, d] = [d, c];
  if (a > c) [a, c] = [c, a];
  if (b > d) [b, d] = [d, b];
  return Math.max(Math.min(b, c), Math.min(Math.max(b, c), e));
}

/** Findings about single samples that stand out; they are reported and kept. */
export function spikeFindings(
  samples: RunSamples,
  lineNumbers: ArrayLike<number> | undefined,
): readonly Finding[] {
  const columns = [
    { quantity: 'temperature', unit: 'K', values: samples.temperatureC, floor: 3 },
    { quantity: 'power', unit: 'W', values: samples.powerW, floor: 0.15 * typicalOf(samples.powerW) },
    { quantity: 'air temperature', unit: 'K', values: samples.ambientC, floor: 1.5 },
  ];
  const findings: Finding[] = [];
  for (const { quantity, unit, values, floor } of columns) {
    if (values === undefined) continue;
    const spikes = spikesOf(values, Math.max(floor, 2.5 * (quantumOf(values) ?? 0)));
    if (spikes.length === 0) continue;
    let largest = 0;
    for (const i of spikes) largest = Math.max(largest, Math.abs(values[i] - medianOfFive(values, i)));
    findings.push({
      code: 'spike',
      // Power may jump by itself for a moment; the temperature of a heat capacity may not.
      severity: quantity === 'power' ? 'note' : 'warning',
      message: `${spikes.length} ${spikes.length === 1 ? 'sample of the' : 'samples of the'} ${quantity} ${spikes.length === 1 ? 'stands' : 'stand'} out of the neighbouring ones by up to ${Number(largest.toPrecision(3))} ${unit}; kept as logged.`,
      remedy:
        quantity === 'power'
          ? 'a short burst or pause of the load looks like this; otherwise check the power sensor'
          : 'check these lines, and leave them out of the log if the sensor misread',
      count: spikes.length,
      ...listedLines(spikes, lineNumbers),
    });
  }
  return findings;
}

function typicalOf(values: ArrayLike<number>): number {
  return atRank(
    spreadSample(values.length, (i) => values[i]),
    0.9,
  );
}
