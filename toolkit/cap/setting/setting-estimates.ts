import { normalQuantile } from '../../numerics/distributions.js';
import type { Estimate, EstimatedNumber } from '../../numerics/estimate.js';
import { unavailable } from '../../numerics/estimates.js';
import { throughputGradient } from '../../power/fit/throughput-relation.js';
import type { PowerCurve } from '../../power/power-curve.js';
import { frequencyEstimate, slopePerTemperature } from '../../power/predict/frequency-at.js';
import { throughputOfFrequency } from '../../power/predict/throughput-at.js';
import type { Load } from '../draws/load.js';
import { type OperatingState, operatingPoint, stateAt } from './operating-state.js';
import type { CapSetting, PreparedCap } from './prepared-cap.js';
import { withSpread } from './quantity-of-curve.js';

/** What a setting comes to, with its uncertainty. */
export interface SettingEstimates {
  readonly frequencyMHz: Estimate;
  readonly throughputPerS: Estimate;
  readonly jobRatePerH: Estimate;
  readonly energyPerJobJ: Estimate;
  readonly workPerWh: Estimate;
}

/**
 * Estimates at a setting: the curve's own uncertainty and what the spread of the temperature carries over are
 * independent and add in quadrature, as standard errors and as half-widths of the 95 % interval. Of several loads the
 * uncertainties add up, since curves of one processor err together.
 */
export function estimatesAt(
  prepared: PreparedCap,
  setting: CapSetting,
  { supplyPowerW }: Pick<OperatingState, 'supplyPowerW'> = stateAt(prepared, setting),
): SettingEstimates {
  const { scenario } = prepared;
  const readings = readingsAt(prepared, setting);
  const throughputPerS = throughputEstimate(prepared, readings);
  const { workPerJobCount } = scenario;
  return {
    frequencyMHz: atMost(overLoads(readings, frequencyOf), scenario.topFrequencyMHz),
    throughputPerS,
    jobRatePerH: workPerJobCount === undefined ? missing : scaled(throughputPerS, 3600 / workPerJobCount),
    energyPerJobJ:
      workPerJobCount === undefined ? missing : inverted(throughputPerS, supplyPowerW * workPerJobCount),
    workPerWh: scaled(throughputPerS, 3600 / supplyPowerW),
  };
}

const missing: Estimate = unavailable('not-identifiable');

/**
 * What the throughput reaches with a confidence, per second; `undefined` where it is not known.
 *
 * @param warmerK - how much warmer than at the setting
 */
export function throughputAtConfidence(
  prepared: PreparedCap,
  setting: CapSetting,
  confidence: number,
  warmerK: number = 0,
): number | undefined {
  const estimate = throughputEstimate(prepared, readingsAt(prepared, setting, warmerK));
  if (estimate.kind === 'unavailable') return undefined;
  return estimate.value - normalQuantile(confidence) * estimate.standardError;
}

/** Where the curve of one load is read at a setting, and its frequency there. */
interface CurveReading {
  readonly curve: PowerCurve;
  readonly shareFraction: number;
  readonly frequencyMHz: Estimate;
  /** Of the frequency, MHz/K. */
  readonly perTemperature: number;
  /** Standard deviation of the temperature, K. */
  readonly spreadK: number;
}

/** One reading a load that does any work; `undefined` where a curve is missing. */
function readingsAt(
  prepared: PreparedCap,
  { powerCapW, fanSpeedRpm, voltageOffsetMv }: CapSetting,
  warmerK: number = 0,
): readonly CurveReading[] | undefined {
  const { loads } = prepared.thermalAt(fanSpeedRpm);
  const curves = prepared.curvesAt(voltageOffsetMv);
  const readings: CurveReading[] = [];
  for (const [k, load] of loads.entries()) {
    const { powerW, temperatureC } = operatingPoint(load, powerCapW);
    const at = { powerW, temperatureC: temperatureC + warmerK };
    const curve = curves[k] ?? curves[0];
    if (at.powerW === 0) continue; // at rest: no work
    if (curve === undefined) return undefined;
    readings.push({
      curve,
      shareFraction: load.shareFraction,
      frequencyMHz: frequencyEstimate(curve, at),
      perTemperature: slopePerTemperature(curve, at),
      spreadK: spreadOfTemperature(load, powerCapW),
    });
  }
  return readings;
}

function frequencyOf({ frequencyMHz, perTemperature, spreadK }: CurveReading): Estimate {
  return withSpread(frequencyMHz, Math.abs(perTemperature) * spreadK);
}

function throughputOf({ curve, frequencyMHz, perTemperature, spreadK }: CurveReading): Estimate {
  if (frequencyMHz.kind === 'unavailable') return frequencyMHz;
  const { perMHz } = throughputGradient(curve.throughput!, frequencyMHz.value);
  return withSpread(throughputOfFrequency(curve, frequencyMHz), Math.abs(perMHz * perTemperature) * spreadK);
}

/** Throughput from the readings, per second. */
function throughputEstimate({ knows }: PreparedCap, readings: readonly CurveReading[] | undefined): Estimate {
  return knows.throughput ? overLoads(readings, throughputOf) : missing;
}

function overLoads(
  readings: readonly CurveReading[] | undefined,
  estimateOf: (reading: CurveReading) => Estimate,
): Estimate {
  if (readings === undefined) return missing;
  let value = 0;
  let standardError = 0;
  let halfWidth = 0;
  let extrapolated = false;
  for (const reading of readings) {
    const own = estimateOf(reading);
    if (own.kind === 'unavailable') return own;
    const { shareFraction } = reading;
    value += shareFraction * own.value;
    standardError += shareFraction * own.standardError;
    halfWidth += (shareFraction * (own.interval95[1] - own.interval95[0])) / 2;
    extrapolated ||= own.extrapolated === true;
  }
  return {
    kind: 'estimated',
    value,
    standardError,
    interval95: [value - halfWidth, value + halfWidth],
    extrapolated,
  };
}

/** Draws enough for a standard deviation to 3 %. */
const SPREAD_DRAWS = 512;

function spreadOfTemperature({ temperatures }: Load, powerCapW: number): number {
  const count = Math.min(temperatures.count, SPREAD_DRAWS);
  const temperaturesC = new Float64Array(count);
  temperatures.temperaturesAt(powerCapW, temperaturesC, count);
  let sum = 0;
  for (let i = 0; i < count; i++) sum += temperaturesC[i];
  const mean = sum / count;
  let squares = 0;
  for (let i = 0; i < count; i++) squares += (temperaturesC[i] - mean) ** 2;
  return Math.sqrt(squares / Math.max(1, count - 1));
}

function scaled(estimate: Estimate, factor: number): Estimate {
  if (estimate.kind === 'unavailable') return estimate;
  return {
    ...estimate,
    value: factor * estimate.value,
    standardError: factor * estimate.standardError,
    interval95: [factor * estimate.interval95[0], factor * estimate.interval95[1]],
  };
}

/** c / x, its ends exchanged; where the interval reaches 0 the quotient has no upper end and is not known. */
function inverted(estimate: Estimate, c: number): Estimate {
  if (estimate.kind === 'unavailable') return estimate;
  if (!(estimate.interval95[0] > 0)) return missing;
  const value = c / estimate.value;
  return {
    ...estimate,
    value,
    standardError: (value * estimate.standardError) / estimate.value,
    interval95: [c / estimate.interval95[1], c / estimate.interval95[0]],
  } satisfies EstimatedNumber;
}

/** A frequency that its top cuts off. */
function atMost(estimate: Estimate, topMHz: number | undefined): Estimate {
  if (estimate.kind === 'unavailable' || topMHz === undefined || estimate.interval95[1] <= topMHz)
    return estimate;
  const { value, interval95 } = estimate;
  return {
    ...estimate,
    value: Math.min(value, topMHz),
    interval95: [Math.min(interval95[0], topMHz), topMHz],
  };
}
