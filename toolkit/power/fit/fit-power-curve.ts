import { ArgumentError, type KnownNames, requireKnownNames, requireNumber } from '../../errors.js';
import type { Finding } from '../../runs/finding.js';
import { requireRun } from '../../runs/require-run.js';
import type { Conditions, Run } from '../../runs/run.js';
import type { PowerCurve } from '../power-curve.js';
import { buildCurve, CURVE_OPTION_NAMES, type CurveOptions } from './build-curve.js';
import { fitThroughput } from './fit-throughput.js';
import { observeRuns, type RunObservation } from './run-observations.js';
import { workLosses } from './work-losses.js';

/** How to fit a power curve to runs. */
export interface FitPowerCurveOptions extends CurveOptions {
  /**
   * How the log rounds frequency. Default `nearest`. With `floor` half a step is added to every average: rounding
   * down to 25 MHz alone lowers the curve by 12.5 MHz.
   */
  readonly frequencyRounding?: 'nearest' | 'floor';
  /** Load time left out at the start of each load segment, while sensors and governor settle, s. Default 5. */
  readonly settleS?: number;
}

const OPTION_NAMES: KnownNames<FitPowerCurveOptions> = {
  ...CURVE_OPTION_NAMES,
  frequencyRounding: true,
  settleS: true,
};

/**
 * Defaults of `fitPowerCurve`.
 *
 * @example
 * FIT_POWER_CURVE_DEFAULTS; // => { frequencyRounding: 'nearest', settleS: 5 }
 */
export const FIT_POWER_CURVE_DEFAULTS: {
  readonly frequencyRounding: 'nearest' | 'floor';
  readonly settleS: number;
} = { frequencyRounding: 'nearest', settleS: 5 };

/**
 * Power against frequency and temperature, fitted to logged load runs.
 *
 * Under a governor power is set and frequency responds, so residuals are in frequency: f(P, T) from
 * P = P_base + P_leak·e^((T − T₀)/θ) + k·f·V(f)², T₀ = 60 °C, where k·f·V² goes as f^m around the centre of the points
 * and m grows with frequency (see `DEFAULT_CURVE_ASSUMPTIONS`). Each load segment enters as time-binned averages, so
 * that the warm-up at held power tells ∂f/∂T and different caps tell ∂f/∂P. Segments limited by temperature or
 * frequency lie on the same curve and are used; those limited by demand are left out.
 *
 * What the data do not determine rests on weak stated assumptions, with a finding. Intervals cover sampling noise
 * (autocorrelation and rounding included), those assumptions, and a discrepancy of the form itself, estimated from
 * the residuals. Candidates without temperature (power law, polynomial) stand beside it in `candidates`.
 *
 * Where voltage was logged, V(f) is fitted to it together with the frequencies, at each run's
 * `conditions.voltageOffsetMv`, so that base power, leakage and switching are told apart better and `undervolt` can move
 * the curve. Where throughput was logged, the work per cycle of the runs is compared first (`checkSlowdown`): a run slowed
 * down behind its reported frequency counts with its effective frequency, and `throughput` relates work to frequency.
 *
 * @param runs - runs of one processor under one workload, with a frequency column; at two power caps or more for a
 * full answer. One cap gives the effect of temperature only, and a finding says what is missing
 * @param options - assumptions, rounding of frequency, form
 * @returns the curve, with findings
 * @throws ArgumentError for no runs, runs of different processors, none with a frequency column or a usable load, or
 * loads at one power and temperature
 * @example
 * const atCap = (powerW: number, finalC: number, label: string) => {
 *   const timeS = Array.from({ length: 600 }, (_, i) => i);
 *   const temperatureC = timeS.map((t) => finalC - 25 * Math.exp(-t / 90));
 *   const frequencyMHz = temperatureC.map((t) => 3900 * ((powerW - 10 - 14 * Math.exp((t - 60) / 32)) / 94) ** (1 / 2.9));
 *   return makeRun({ timeS, temperatureC, powerW: timeS.map(() => powerW), frequencyMHz }, { label, conditions: { powerCapW: powerW } });
 * };
 * const curve = fitPowerCurve([atCap(118, 84, 'flat at 118 W'), atCap(88, 68, 'flat at 88 W')]);
 * frequencyAt(curve, { powerW: 102, temperatureC: 75 }).value; // => 3517 within 25
 * curve.frequencyPerTemperatureMHzPerK.value; // => -8.5 within 1
 */
export function fitPowerCurve(runs: readonly Run[], options: FitPowerCurveOptions = {}): PowerCurve {
  const caller = 'fitPowerCurve';
  requireKnownNames(options, OPTION_NAMES, { caller, argument: 'options' });
  const settleS = options.settleS ?? FIT_POWER_CURVE_DEFAULTS.settleS;
  const frequencyRounding = options.frequencyRounding ?? FIT_POWER_CURVE_DEFAULTS.frequencyRounding;
  requireNumber(settleS, { caller, argument: 'options.settleS' }, { atLeast: 0 });
  if (frequencyRounding !== 'nearest' && frequencyRounding !== 'floor') {
    throw new ArgumentError({
      caller,
      argument: 'options.frequencyRounding',
      expected: "'nearest' or 'floor'",
      received: frequencyRounding,
    });
  }
  requireRuns(caller, runs);
  const processor = commonCondition(caller, runs, 'processor');
  requireVoltage(caller, runs);
  const losses = workLosses(runs);
  const { observations, segmentLabels, points, findings } = observeRuns(runs, {
    settleS,
    frequencyRounding,
    effectiveShares: losses.effectiveShares,
  });
  requireSpread(caller, observations, findings);
  const workloads = new Set(runs.flatMap(({ conditions }) => conditions.workload ?? []));
  const workload = workloads.size === 1 ? [...workloads][0] : undefined;
  const throughput = fitThroughput(observations, segmentLabels);
  return buildCurve(
    {
      caller,
      label: options.label ?? processor ?? runs.map(({ label }) => label).join(', '),
      ...(processor !== undefined && { processor }),
      ...(workload !== undefined && { workload }),
      runLabels: runs.map(({ label }) => label),
      method: 'runs',
      observations,
      segmentLabels,
      points,
      ...(throughput !== undefined && { throughputPerMHz: throughput.throughputPerMHz }),
      ...(throughput?.relation !== undefined && { throughput: throughput.relation }),
      offsetLosses: losses.offsetLosses,
      ...(losses.slowedRuns.length > 0 && { slowedRuns: losses.slowedRuns }),
      findings: [
        ...losses.findings,
        ...workloadFindings(workloads),
        ...findings,
        ...(throughput?.findings ?? []),
      ],
    },
    options,
  );
}

function requireRuns(caller: string, runs: readonly Run[]): void {
  if (!Array.isArray(runs) || runs.length === 0) {
    throw new ArgumentError({
      caller,
      argument: 'runs',
      expected: 'an array of one run or more',
      received: runs,
      remedy: 'read logs with parseRun or readRun; runs at two power caps give a full answer',
    });
  }
  runs.forEach((run: unknown, i) => {
    requireRun(run, caller, `runs[${i}]`);
  });
  if (runs.some(({ frequencyMHz }) => frequencyMHz !== undefined)) return;
  throw new ArgumentError({
    caller,
    argument: 'runs',
    expected: 'runs with a frequency column',
    received: runs.map(({ label }) => label).join(', '),
    remedy:
      'log the mean core frequency, or name its column with options.columns.frequency when reading the log',
  });
}

/** The one value of a condition among runs; different processors cannot share a curve. */
function commonCondition(
  caller: string,
  runs: readonly Run[],
  key: keyof Conditions & 'processor',
): string | undefined {
  const values = [...new Set(runs.flatMap(({ conditions }) => conditions[key] ?? []))];
  if (values.length <= 1) return values[0];
  throw new ArgumentError({
    caller,
    argument: 'runs',
    expected: `runs of one ${key}`,
    received: values.join(', '),
    remedy: `fit one curve per ${key}`,
  });
}

function requireSpread(
  caller: string,
  observations: readonly RunObservation[],
  findings: readonly Finding[],
): void {
  if (observations.length < 2) {
    throw new ArgumentError({
      caller,
      argument: 'runs',
      expected: 'runs with at least two averages under load',
      received: observations.length,
      remedy:
        findings.find(({ code }) => code === 'no-load' || code === 'short-load')?.message ??
        'log at least half a minute under full load',
    });
  }
  const varies = (of: (observation: RunObservation) => number): boolean => {
    const values = observations.map(of);
    const highest = Math.max(...values);
    // Means of equal samples differ in the last bits.
    return highest - Math.min(...values) > 1e-9 * Math.abs(highest);
  };
  if (varies(({ powerW }) => powerW) || varies(({ temperatureC }) => temperatureC)) return;
  throw new ArgumentError({
    caller,
    argument: 'runs',
    expected: 'runs that differ in power or temperature',
    received: `${observations[0].powerW} W at ${observations[0].temperatureC} °C throughout`,
    remedy: 'check for stuck sensors; log the warm-up from cold, and a second power cap',
  });
}

function workloadFindings(workloads: ReadonlySet<string>): Finding[] {
  if (workloads.size < 2) return [];
  return [
    {
      code: 'mixed-workloads',
      severity: 'warning',
      message: `The runs hold different workloads (${[...workloads].join(', ')}): the same power gives each another frequency, and one curve fits none of them well.`,
      remedy: 'fit one curve per workload',
      count: workloads.size,
    },
  ];
}

/** Runs at several voltage offsets lie on one curve only where the voltage they differ from is known. */
function requireVoltage(caller: string, runs: readonly Run[]): void {
  const offsets = [...new Set(runs.map(({ conditions }) => conditions.voltageOffsetMv ?? 0))];
  if (offsets.length <= 1 || runs.some(({ voltageV }) => voltageV !== undefined)) return;
  throw new ArgumentError({
    caller,
    argument: 'runs',
    expected: 'runs at one voltage offset, or runs that log the core voltage',
    received: `offsets of ${offsets.join(' and ')} mV without a voltage column`,
    remedy: 'log the core voltage, or fit one curve per conditions.voltageOffsetMv',
  });
}
