import { normalQuantile } from '../../numerics/distributions.js';
import type { Estimate, EstimatedNumber } from '../../numerics/estimate.js';
import { unavailable } from '../../numerics/estimates.js';
import type { PowerCurve } from '../../power/power-curve.js';
import { frequencyAt, type PowerAndTemperature, slopes } from '../../power/predict/frequency-at.js';
import { throughputAt, throughputSlopes } from '../../power/predict/throughput-at.js';
import type { Load } from '../draws/load.js';
import { operatingPoint, stateAt } from './operating-state.js';
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
export function estimatesAt(prepared: PreparedCap, setting: CapSetting): SettingEstimates {
  const { scenario } = prepared;
  const { supplyPowerW } = stateAt(prepared, setting);
  const frequencyMHz = overLoads(prepared, setting, (curve, at, spreadK) =>
    withSpread(frequencyAt(curve, at), Math.abs(slopes(curve, at).perTemperature) * spreadK),
  );
  const throughputPerS = throughputEstimate(prepared, setting);
  const { workPerJobCount } = scenario;
  return {
    frequencyMHz: atMost(frequencyMHz, scenario.topFrequencyMHz),
    throughputPerS,
    jobRatePerH: workPerJobCount === undefined ? missing : scaled(throughputPerS, 3600 / workPerJobCount),
    energyPerJobJ:
      workPerJobCount === undefined ? missing : inverted(throughputPerS, supplyPowerW * workPerJobCount),
    workPerWh: scaled(throughputPerS, 3600 / supplyPowerW),
  };
}

const missing: Estimate = unavailable('not-identifiable');

/** Throughput at a setting, per second. */
function throughputEstimate(prepared: PreparedCap, setting: CapSetting): Estimate {
  if (!prepared.knows.throughput) return missing;
  return overLoads(prepared, setting, (curve, at, spreadK) =>
    withSpread(throughputAt(curve, at), Math.abs(throughputSlopes(curve, at).perTemperature) * spreadK),
  );
}

/** What the throughput reaches with a confidence, per second; `undefined` where it is not known. */
export function throughputAtConfidence(
  prepared: PreparedCap,
  setting: CapSetting,
  confidence: number,
): number | undefined {
  const estimate = throughputEstimate(prepared, setting);
  if (estimate.kind === 'unavailable') return undefined;
  return estimate.value - normalQuantile(confidence) * estimate.standardError;
}

function overLoads(
  prepared: PreparedCap,
  { powerCapW, fanSpeedRpm, voltageOffsetMv }: CapSetting,
  estimateOf: (curve: PowerCurve, at: PowerAndTemperature, spreadK: number) => Estimate,
): Estimate {
  const { loads } = prepared.thermalAt(fanSpeedRpm);
  const curves = prepared.curvesAt(voltageOffsetMv);
  let value = 0;
  let standardError = 0;
  let halfWidth = 0;
  let extrapolated = false;
  for (const [k, load] of loads.entries()) {
    const at = operatingPoint(load, powerCapW);
    const curve = curves[k] ?? curves[0];
    if (at.powerW === 0) continue; // at rest: no work
    if (curve === undefined) return missing;
    const own = estimateOf(curve, at, spreadOfTemperature(load, powerCapW));
    if (own.kind === 'unavailable') return own;
    value += load.shareFraction * own.value;
    standardError += load.shareFraction * own.standardError;
    halfWidth += (load.shareFraction * (own.interval95[1] - own.interval95[0])) / 2;
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
