import { toOwnUnit, unitFromText } from '../../units/units.js';
import { blockMeans, blocksOf, rangeOf } from '../block-means.js';
import type { Finding } from '../finding.js';
import type { Conditions, RunSamples } from '../run.js';
import { atRank, spreadSample } from '../spread-sample.js';

/** What a package power, a core frequency … of a compact computer can be, and what explains a value outside. */
interface PlausibleRange {
  readonly column: 'temperatureC' | 'powerW' | 'frequencyMHz' | 'ambientC' | 'voltageV';
  /** The column's name in the options of a reader. */
  readonly role: string;
  readonly quantity: string;
  readonly unit: string;
  /** The 90 % quantile must lie in here; wide, since only a wrong unit is meant. */
  readonly low: number;
  readonly high: number;
  /** Units that logs may have instead; a remedy proposes the first that makes the value plausible. */
  readonly otherUnits: readonly string[];
  /** What to check where it is not the unit. */
  readonly otherwise: string;
}

const PLAUSIBLE_RANGES: readonly PlausibleRange[] = [
  {
    column: 'temperatureC',
    role: 'temperature',
    quantity: 'temperature',
    unit: '°C',
    low: 0,
    high: 125,
    otherUnits: ['°F', 'K'],
    otherwise: 'check that it is the die or package temperature',
  },
  {
    column: 'powerW',
    role: 'power',
    quantity: 'power',
    unit: 'W',
    low: 0.5,
    high: 2000,
    otherUnits: ['mW', 'µW', 'kW'],
    otherwise: 'check that it is the package power',
  },
  {
    column: 'frequencyMHz',
    role: 'frequency',
    quantity: 'frequency',
    unit: 'MHz',
    low: 50,
    high: 20_000,
    otherUnits: ['GHz', 'kHz', 'Hz'],
    otherwise: 'check that it is the core frequency, or leave it out by columns: { frequency: false }',
  },
  {
    column: 'ambientC',
    role: 'ambient',
    quantity: 'air temperature',
    unit: '°C',
    low: -20,
    high: 60,
    otherUnits: ['°F', 'K'],
    otherwise: 'check that the sensor sits in the air at the intake, not in the warm air behind the cooler',
  },
  {
    column: 'voltageV',
    role: 'voltage',
    quantity: 'voltage',
    unit: 'V',
    low: 0.1,
    high: 20,
    otherUnits: ['mV'],
    otherwise: 'check that the sensor is in use, or leave it out by columns: { voltage: false }',
  },
];

/** Longest run that needs no question, s: ten days. */
const LONGEST_PLAUSIBLE_S = 864_000;

/** Findings about values outside what their unit can mean. */
export function unitFindings(samples: RunSamples): readonly Finding[] {
  const findings: Finding[] = [];
  for (const { column, role, quantity, unit, low, high, otherUnits, otherwise } of PLAUSIBLE_RANGES) {
    const values = samples[column];
    if (values === undefined) continue;
    const usual = atRank(
      spreadSample(values.length, (i) => values[i]),
      0.9,
    );
    if (usual >= low && usual <= high) continue;
    const proposed = unitProposal(role, { value: usual, unit, low, high, otherUnits });
    findings.push({
      code: 'implausible-range',
      severity: 'serious',
      message: `The ${quantity} reaches ${number(usual)} ${unit}, outside ${low} to ${high} ${unit}; used as given.`,
      remedy: proposed === undefined ? otherwise : `${proposed}; otherwise ${otherwise}`,
      count: values.length,
    });
  }
  const durationS = samples.timeS[samples.timeS.length - 1];
  if (durationS > LONGEST_PLAUSIBLE_S) {
    const proposed = unitProposal('time', {
      value: durationS,
      unit: 's',
      low: 0,
      high: LONGEST_PLAUSIBLE_S,
      otherUnits: ['ms', 'µs', 'ns'],
    });
    const otherwise = 'check that all samples are of one run';
    findings.push({
      code: 'implausible-range',
      severity: 'serious',
      message: `The run lasts ${number(durationS)} s, ${number(durationS / 86_400)} days; used as given.`,
      remedy: proposed === undefined ? otherwise : `${proposed}; otherwise ${otherwise}`,
      count: samples.timeS.length,
    });
  }
  return findings;
}

/** The reader's option, ready to paste, with the first unit in which the value is plausible. */
function unitProposal(
  role: string,
  {
    value,
    unit,
    low,
    high,
    otherUnits,
  }: Pick<PlausibleRange, 'unit' | 'low' | 'high' | 'otherUnits'> & { readonly value: number },
): string | undefined {
  for (const other of otherUnits) {
    const converted = toOwnUnit(value, unitFromText(other)!);
    if (converted < low || converted > high) continue;
    return `if it was logged in ${other}, which makes it ${number(converted)} ${unit}, read the log with the option units: { ${role}: '${other}' } (columns from code: convertUnit)`;
  }
  return undefined;
}

/** A change of room air over the run by this much, K, is worth a note, by the second a warning. */
const NOTED_AIR_DRIFT_K = 1;
const WARNED_AIR_DRIFT_K = 3;

/** The die cannot be colder than the air by more than sensors disagree, K. */
const SENSOR_DISAGREEMENT_K = 2;

/** Findings about the air: drift over the run, a stated value that differs, a die colder than its air. */
export function airFindings(samples: RunSamples, conditions: Conditions): readonly Finding[] {
  const { ambientC, temperatureC, timeS } = samples;
  const findings: Finding[] = [];
  if (ambientC !== undefined) {
    const { low, high, mean } = driftOf(ambientC);
    if (high - low >= NOTED_AIR_DRIFT_K) {
      findings.push({
        code: 'drifting-ambient',
        severity: high - low >= WARNED_AIR_DRIFT_K ? 'warning' : 'note',
        message: `The air at the intake moved between ${number(low)} and ${number(high)} °C during the run; its measured course is used.`,
        remedy: 'nothing to do where the course is used; for averages take the rise above the air',
        rangeS: [0, timeS[timeS.length - 1]],
      });
    }
    if (conditions.ambientC !== undefined && Math.abs(conditions.ambientC - mean) > SENSOR_DISAGREEMENT_K) {
      findings.push({
        code: 'ambient-disagrees',
        severity: 'warning',
        message: `The stated air temperature of ${number(conditions.ambientC)} °C differs from the measured mean of ${number(mean)} °C; the measured column is used.`,
        remedy: 'correct the stated value, or check where the air sensor sits',
      });
    }
  }
  let colderCount = 0;
  for (let i = 0; i < temperatureC.length; i++) {
    const airC = ambientC === undefined ? conditions.ambientC : ambientC[i];
    if (airC !== undefined && temperatureC[i] < airC - SENSOR_DISAGREEMENT_K) colderCount++;
  }
  if (colderCount > 0) {
    findings.push({
      code: 'below-ambient',
      severity: colderCount > 0.05 * temperatureC.length ? 'serious' : 'warning',
      message: `In ${colderCount} samples the processor reads more than ${SENSOR_DISAGREEMENT_K} K colder than the air at the intake, which a cooler without refrigeration cannot do; kept as logged.`,
      remedy: 'check the units of both temperatures, which columns they are, and where the air sensor sits',
      count: colderCount,
    });
  }
  return findings;
}

/** Range of the means over twenty equal stretches, so that noise and spikes do not count as drift. */
function driftOf(values: Float64Array): {
  readonly low: number;
  readonly high: number;
  readonly mean: number;
} {
  const means = blockMeans(values, blocksOf(0, values.length, 20));
  return { ...rangeOf(means), mean: means.reduce((sum, mean) => sum + mean, 0) / means.length };
}

function number(value: number): string {
  return String(Number(value.toPrecision(4)));
}
