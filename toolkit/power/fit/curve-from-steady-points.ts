import { ArgumentError, type KnownNames, requireKnownNames, requireNumber } from '../../errors.js';
import type { CurvePoint, PowerCurve } from '../power-curve.js';
import { buildCurve, CURVE_OPTION_NAMES, type CurveOptions } from './build-curve.js';
import { fitThroughput } from './fit-throughput.js';
import type { RunObservation } from './run-observations.js';

/** One steady average from a notebook. */
export interface SteadyCurvePoint {
  /** Package power, W. */
  readonly powerW: number;
  /** Die temperature, degrees Celsius. */
  readonly temperatureC: number;
  readonly frequencyMHz: number;
  /** Core voltage, V, where it was set by hand or read; give it for all points or for none. */
  readonly voltageV?: number;
  /** Work done per second; give it for all points or for none. */
  readonly throughputPerS?: number;
  readonly label?: string;
}

/** With what a cooler model wants of the same notes, so that one list of points serves both. */
const POINT_NAMES: KnownNames<SteadyCurvePoint & { readonly ambientC: number }> = {
  powerW: true,
  temperatureC: true,
  frequencyMHz: true,
  voltageV: true,
  throughputPerS: true,
  ambientC: true,
  label: true,
};

/** How well the averages are known, and what they belong to. */
export interface SteadyCurveOptions extends CurveOptions {
  readonly processor?: string;
  readonly workload?: string;
  /** Standard uncertainty of each average. */
  readonly frequencyStandardErrorMHz?: number;
  readonly temperatureStandardErrorK?: number;
  readonly powerStandardErrorW?: number;
  readonly voltageStandardErrorV?: number;
}

const OPTION_NAMES: KnownNames<SteadyCurveOptions> = {
  ...CURVE_OPTION_NAMES,
  processor: true,
  workload: true,
  frequencyStandardErrorMHz: true,
  temperatureStandardErrorK: true,
  powerStandardErrorW: true,
  voltageStandardErrorV: true,
};

/**
 * Standard uncertainties taken for averages that come without: figures noted to about 10 MHz, 1 K and 1 W, voltages to 3 mV.
 *
 * @example
 * DEFAULT_STEADY_POINT_UNCERTAINTY.frequencyStandardErrorMHz; // => 10
 */
export const DEFAULT_STEADY_POINT_UNCERTAINTY: {
  readonly frequencyStandardErrorMHz: number;
  readonly temperatureStandardErrorK: number;
  readonly powerStandardErrorW: number;
  readonly voltageStandardErrorV: number;
} = {
  frequencyStandardErrorMHz: 10,
  temperatureStandardErrorK: 0.5,
  powerStandardErrorW: 0.5,
  voltageStandardErrorV: 0.003,
};

/**
 * Power curve from steady averages alone, for people who have no logs.
 *
 * The electro-thermal form of `fitPowerCurve`. With few points the averages do not determine all its parameters:
 * what they leave open rests on `DEFAULT_CURVE_ASSUMPTIONS` with their full spread, which widens the intervals, and
 * a finding names it. Points at one power with different coolers determine the effect of temperature; points at one
 * power only say nothing about other powers.
 *
 * With `voltageV` power is balanced at the voltage of each point, P = P_base + P_leak·r·e^((T − T₀)/θ) + k·f·V², so that
 * fixed voltage-frequency points set by hand need not lie on one line; a smooth V(f) through them makes the curve a
 * function of power and temperature, and `undervolt` can move it.
 *
 * @param points - at least two averages of one processor under one workload, each with power, die temperature and
 * frequency, and voltage where it is known
 * @param options - standard uncertainties of the averages (default 10 MHz, 0.5 K, 0.5 W, 3 mV), assumptions, labels
 * @returns the curve; see its findings
 * @throws ArgumentError for fewer than two points, points that are all alike, or values that are not positive
 * @example
 * const curve = curveFromSteadyPoints([
 *   { powerW: 118, temperatureC: 71, frequencyMHz: 3900 },
 *   { powerW: 118, temperatureC: 88, frequencyMHz: 3790 },
 *   { powerW: 90, temperatureC: 58, frequencyMHz: 3560 },
 * ]);
 * curve.frequencyPerTemperatureMHzPerK.value; // => -6.5 within 1
 * curve.findings.map((finding) => finding.code); // => ['assumed-parameters']
 */
export function curveFromSteadyPoints(
  points: readonly SteadyCurvePoint[],
  options: SteadyCurveOptions = {},
): PowerCurve {
  const caller = 'curveFromSteadyPoints';
  requireKnownNames(options, OPTION_NAMES, { caller, argument: 'options' });
  const uncertainty = checkedUncertainty(caller, options);
  checkPoints(caller, points);
  const named: CurvePoint[] = points.map((point, i) => ({
    label: point.label ?? `point ${i + 1}`,
    powerW: point.powerW,
    temperatureC: point.temperatureC,
    frequencyMHz: point.frequencyMHz,
    ...(point.throughputPerS !== undefined && { throughputPerS: point.throughputPerS }),
    limitedBy: 'unknown',
  }));
  const observations = named.map(
    (point, segment): RunObservation => ({
      powerW: point.powerW,
      temperatureC: point.temperatureC,
      frequencyMHz: point.frequencyMHz,
      effectiveFrequencyMHz: point.frequencyMHz,
      ...(points[segment].throughputPerS !== undefined && {
        throughputPerS: points[segment].throughputPerS,
      }),
      frequencyVariance: uncertainty.frequencyStandardErrorMHz ** 2,
      powerVariance: uncertainty.powerStandardErrorW ** 2,
      temperatureVariance: uncertainty.temperatureStandardErrorK ** 2,
      segment,
      sampleCount: 1,
      limitedBy: 'unknown',
      voltageOffsetMv: 0,
      ...(points[segment].voltageV !== undefined && {
        voltage: {
          voltageV: points[segment].voltageV,
          variance: uncertainty.voltageStandardErrorV ** 2,
          setByHand: true,
        },
      }),
    }),
  );
  const segmentLabels = named.map(({ label }) => label);
  const throughput = fitThroughput(observations, segmentLabels);
  return buildCurve(
    {
      caller,
      label: options.label ?? options.processor ?? 'steady points',
      ...(options.processor !== undefined && { processor: options.processor }),
      ...(options.workload !== undefined && { workload: options.workload }),
      runLabels: [],
      method: 'steady-points',
      observations,
      segmentLabels,
      points: named,
      ...(throughput !== undefined && { throughputPerMHz: throughput.throughputPerMHz }),
      ...(throughput?.relation !== undefined && { throughput: throughput.relation }),
      offsetLosses: [],
      findings: throughput?.findings ?? [],
    },
    options,
  );
}

function checkedUncertainty(
  caller: string,
  options: SteadyCurveOptions,
): typeof DEFAULT_STEADY_POINT_UNCERTAINTY {
  const uncertainty = {
    frequencyStandardErrorMHz:
      options.frequencyStandardErrorMHz ?? DEFAULT_STEADY_POINT_UNCERTAINTY.frequencyStandardErrorMHz,
    temperatureStandardErrorK:
      options.temperatureStandardErrorK ?? DEFAULT_STEADY_POINT_UNCERTAINTY.temperatureStandardErrorK,
    powerStandardErrorW: options.powerStandardErrorW ?? DEFAULT_STEADY_POINT_UNCERTAINTY.powerStandardErrorW,
    voltageStandardErrorV:
      options.voltageStandardErrorV ?? DEFAULT_STEADY_POINT_UNCERTAINTY.voltageStandardErrorV,
  };
  for (const [name, value] of Object.entries(uncertainty)) {
    requireNumber(
      value,
      { caller, argument: `options.${name}` },
      name.startsWith('frequency') || name.startsWith('voltage') ? { above: 0 } : { atLeast: 0 },
    );
  }
  return uncertainty;
}

function checkPoints(caller: string, points: readonly SteadyCurvePoint[]): void {
  if (points.length < 2) {
    throw new ArgumentError({
      caller,
      argument: 'points',
      expected: 'at least two steady points',
      received: points,
      remedy: 'add averages at a second power cap, and at one cap with a second cooler if you have them',
    });
  }
  points.forEach((point, i) => {
    requireKnownNames(point, POINT_NAMES, { caller, argument: `points[${i}]` });
    const unit = 'give the average in W, degrees Celsius and MHz';
    requireNumber(point.powerW, { caller, argument: `points[${i}].powerW`, remedy: unit }, { above: 0 });
    requireNumber(
      point.temperatureC,
      { caller, argument: `points[${i}].temperatureC`, remedy: unit },
      { above: -273.15, below: 200 },
    );
    requireNumber(
      point.frequencyMHz,
      { caller, argument: `points[${i}].frequencyMHz`, remedy: `${unit}: write 3.4 GHz as 3400` },
      { above: 20, below: 20_000 }, // outside, hertz or gigahertz are meant
    );
  });
  requireForAll(caller, points, 'voltageV', 'the core voltage in V', { above: 0.2, below: 3 });
  requireForAll(caller, points, 'throughputPerS', 'the work done per second', { above: 0 });
  const first = points[0];
  const alike = points.every(
    (point) => point.powerW === first.powerW && point.temperatureC === first.temperatureC,
  );
  if (alike) {
    throw new ArgumentError({
      caller,
      argument: 'points',
      expected: 'points that differ in power or temperature',
      received: points,
      remedy: `all ${points.length} lie at ${first.powerW} W and ${first.temperatureC} °C: add one at another power cap or with another cooler`,
    });
  }
}

/** What some points have and others lack would fit two different things. */
function requireForAll(
  caller: string,
  points: readonly SteadyCurvePoint[],
  name: 'voltageV' | 'throughputPerS',
  meaning: string,
  bounds: { readonly above: number; readonly below?: number },
): void {
  if (points.every((point) => point[name] === undefined)) return;
  points.forEach((point, i) => {
    requireNumber(
      point[name],
      { caller, argument: `points[${i}].${name}`, remedy: `give ${meaning} for all points, or for none` },
      bounds,
    );
  });
}
