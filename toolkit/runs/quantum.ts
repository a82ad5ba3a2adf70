import type { Finding } from './finding.js';
import type { RunSamples } from './run.js';
import { atRank, spreadSample } from './spread-sample.js';

/** A difference further than this share of a step from a whole number of steps speaks against the step. */
const STEP_TOLERANCE_FRACTION = 0.06;

/** Share of differing neighbours that must be whole steps apart. */
const WHOLE_STEP_FRACTION = 0.95;

/** Fewer differing neighbours than this tell nothing. */
const LEAST_DIFFERING_COUNT = 20;

/**
 * Step in which a sensor or a log rounds, estimated from the differences between neighbouring samples.
 *
 * The 1 % quantile of the differences that are not zero is the candidate; it stands if 95 % of all differences
 * are whole multiples of it (within 6 % of a step, as conversions between units round), refined by their mean. A rounding much finer
 * than the noise is not found, and does not matter.
 *
 * @param values - samples in any unit, length n
 * @returns the step in the unit of the values; undefined where no step shows (finer than the noise, or fewer
 *   than 20 neighbours that differ)
 * @example
 * const rounded = Array.from({ length: 200 }, (_, i) => 0.5 * Math.round(80 + 20 * Math.sin(i / 9)));
 * quantumOf(rounded); // => 0.5
 * quantumOf([1, 2, 3]); // => undefined
 */
export function quantumOf(values: ArrayLike<number>): number | undefined {
  const differences = spreadSample(values.length - 1, (i) => Math.abs(values[i + 1] - values[i]));
  // Sums of decimal fractions differ in the last bits; those are no step.
  let magnitude = 0;
  for (let i = 0; i < values.length; i += 1 + (values.length >>> 10)) {
    magnitude = Math.max(magnitude, Math.abs(values[i]));
  }
  const negligible = 1e-9 * magnitude;
  let zeroCount = 0;
  while (zeroCount < differences.length && differences[zeroCount] <= negligible) zeroCount++;
  const differing = differences.subarray(zeroCount);
  if (differing.length < LEAST_DIFFERING_COUNT) return undefined;

  // From the smallest difference up, so that the step is known ever better as the multiples grow.
  let step = atRank(differing, 0.01);
  let wholeCount = 0;
  let sum = 0;
  let stepCount = 0;
  for (let i = 0; i < differing.length; i++) {
    const steps = Math.round(differing[i] / step);
    if (steps === 0 || Math.abs(differing[i] / step - steps) > STEP_TOLERANCE_FRACTION) continue;
    wholeCount++;
    sum += differing[i];
    stepCount += steps;
    step = sum / stepCount;
  }
  return wholeCount >= WHOLE_STEP_FRACTION * differing.length ? step : undefined;
}

/** From which step a column counts as coarse, and what that does. */
const COARSE: readonly {
  readonly column: 'temperatureC' | 'powerW' | 'frequencyMHz' | 'ambientC';
  readonly quantity: string;
  readonly unit: string;
  readonly noted: number;
  readonly warned: number;
}[] = [
  { column: 'temperatureC', quantity: 'temperature', unit: 'K', noted: 0.5, warned: 1.5 },
  { column: 'powerW', quantity: 'power', unit: 'W', noted: 1, warned: 5 },
  { column: 'frequencyMHz', quantity: 'frequency', unit: 'MHz', noted: 20, warned: 75 },
  { column: 'ambientC', quantity: 'air temperature', unit: 'K', noted: 0.5, warned: 1.5 },
];

/** Findings about sensors that read in coarse steps. */
export function quantumFindings(samples: RunSamples): readonly Finding[] {
  const findings: Finding[] = [];
  for (const { column, quantity, unit, noted, warned } of COARSE) {
    const values = samples[column];
    if (values === undefined) continue;
    const quantum = quantumOf(values);
    if (quantum === undefined || quantum < noted * (1 - 1e-6)) continue;
    const step = Number(quantum.toPrecision(3));
    findings.push({
      code: 'coarse-quantum',
      severity: quantum >= warned ? 'warning' : 'note',
      message: `The ${quantity} comes in steps of ${step} ${unit}: each sample is uncertain by ${Number((quantum / Math.sqrt(12)).toPrecision(2))} ${unit} (standard deviation), and by up to half a step on average if the sensor cuts off instead of rounding.`,
      remedy: 'log with more decimals if the sensor has them',
      count: values.length,
    });
  }
  return findings;
}
