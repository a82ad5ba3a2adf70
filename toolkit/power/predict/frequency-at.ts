import { ArgumentError, requireNumber } from '../../errors.js';
import type { Estimate } from '../../numerics/estimate.js';
import { estimatedWithFactor, inUnit, unavailable } from '../../numerics/estimates.js';
import { bilinearForm } from '../bilinear-form.js';
import { perTemperatureOf, slopesOf } from '../fit/row-variances.js';
import type { BoundForm } from '../forms/curve-form.js';
import type { PowerCurve } from '../power-curve.js';
import { powerInterval } from './power-interval.js';
import { requireCurve } from './require-curve.js';
import { unpack } from './unpack-curve.js';

/** An operating point whose frequency is asked for. */
export interface PowerAndTemperature {
  /** Package power, W. */
  readonly powerW: number;
  /** Die temperature, degrees Celsius. */
  readonly temperatureC: number;
}

/** An operating point whose power is asked for. */
export interface FrequencyAndTemperature {
  readonly frequencyMHz: number;
  /** Die temperature, degrees Celsius. */
  readonly temperatureC: number;
}

/** Where a curve of one power level still answers: this far beside it. */
const LEVEL_TOLERANCE_RATIO = 1.02;

/** An answer this close to the tested range counts as inside. */
const EDGE_POWER_RATIO = 1.01;
const EDGE_TEMPERATURE_K = 1;
/** Power must rise over this much frequency. */
const RISE_RATIO = 1.001;

/**
 * Frequency at a power and a temperature, with its uncertainty.
 *
 * Where runs at the curve's voltage offset lost work behind their reported frequency, it is the effective frequency: that
 * which would do the work.
 *
 * The interval covers the parameters' covariance (noise, assumptions and the correction of the form included), so it
 * grows between and beyond the powers and temperatures that were logged. A form without correction adds its spread
 * about the points, s²·(1 + (Δln P/powerScaleRatio)² + (ΔT/temperatureScaleK)²), distances from the tested range.
 *
 * @param curve - from `fitPowerCurve` or `curveFromSteadyPoints`
 * @param at - power in W, above 0, and die temperature in degrees Celsius
 * @returns MHz; marked `extrapolated` outside the tested range (by more than 1 % of power or 1 K). Not identifiable
 * at another power than the one logged where only one level was.
 * @throws ArgumentError if a number is not finite or the power is not positive
 * @example
 * const curve = curveFromSteadyPoints([
 *   { powerW: 118, temperatureC: 71, frequencyMHz: 3900 },
 *   { powerW: 118, temperatureC: 88, frequencyMHz: 3790 },
 *   { powerW: 90, temperatureC: 58, frequencyMHz: 3560 },
 * ]);
 * frequencyAt(curve, { powerW: 105, temperatureC: 70 }).value; // => 3740 within 30
 * frequencyAt(curve, { powerW: 65, temperatureC: 70 }); // => ({ kind: 'estimated', extrapolated: true })
 */
export function frequencyAt(curve: PowerCurve, at: PowerAndTemperature): Estimate {
  requireCurve(curve, 'frequencyAt');
  requirePoint(at, 'frequencyAt', '{ powerW, temperatureC }');
  requirePower('frequencyAt', at.powerW);
  requireTemperature('frequencyAt', at.temperatureC);
  return inUnit(frequencyEstimate(curve, at), 'MHz');
}

/** `frequencyAt` for loops over points that are known to be points. */
export function frequencyEstimate(curve: PowerCurve, at: PowerAndTemperature): Estimate {
  if (!answersAt(curve, at.powerW)) return unavailable('not-identifiable');
  const { bound, effective, coverageFactor95 } = unpack(curve);
  return estimatedWithFactor(
    effective.ratio * bound.frequencyMHz(at.powerW, at.temperatureC),
    Math.sqrt(frequencyCovariance(curve, [at])[0][0]),
    coverageFactor95,
    isExtrapolated(curve, at),
  );
}

/**
 * Power that gives a frequency at a temperature, with its uncertainty: the inverse of `frequencyAt`.
 *
 * @param curve - from `fitPowerCurve` or `curveFromSteadyPoints`
 * @param at - frequency in MHz, above 0, and die temperature in degrees Celsius
 * @returns W; the standard error is the frequency's, divided by the slope ∂f/∂P there; the 95 % interval is Fieller's, all
 * powers whose band holds the frequency [Fieller1954]. Not identifiable where only one power level was logged, where the form
 * reaches the frequency at no power, or where the band holds it everywhere.
 * @throws ArgumentError if a number is not finite or the frequency is not positive
 * @example
 * const curve = curveFromSteadyPoints([
 *   { powerW: 118, temperatureC: 71, frequencyMHz: 3900 },
 *   { powerW: 118, temperatureC: 88, frequencyMHz: 3790 },
 *   { powerW: 90, temperatureC: 58, frequencyMHz: 3560 },
 * ]);
 * powerAt(curve, { frequencyMHz: 3740, temperatureC: 70 }).value; // => 105 within 2.5
 */
export function powerAt(curve: PowerCurve, at: FrequencyAndTemperature): Estimate {
  requireCurve(curve, 'powerAt');
  requirePoint(at, 'powerAt', '{ frequencyMHz, temperatureC }');
  requireNumber(at.frequencyMHz, { caller: 'powerAt', argument: 'at.frequencyMHz' }, { above: 0 });
  requireTemperature('powerAt', at.temperatureC);
  if (!powerDependenceKnown(curve)) return unavailable('not-identifiable');
  const { bound, effective, coverageFactor95 } = unpack(curve);
  const powerW = bound.powerW(at.frequencyMHz / effective.ratio, at.temperatureC);
  if (!(powerW > 0)) return unavailable('not-identifiable');
  const point = { powerW, temperatureC: at.temperatureC };
  const slope = effective.ratio * slopesOf(bound, powerW, at.temperatureC).perPower;
  if (!(slope > 0)) return unavailable('not-identifiable');
  const standardErrorMHz = (each: number): number =>
    Math.sqrt(frequencyCovariance(curve, [{ powerW: each, temperatureC: at.temperatureC }])[0][0]);
  const interval95 = powerInterval(
    (each) => effective.ratio * bound.frequencyMHz(each, at.temperatureC) - at.frequencyMHz,
    (each) => coverageFactor95 * standardErrorMHz(each),
    powerW,
  );
  if (interval95 === undefined) return unavailable('not-identifiable');
  return {
    kind: 'estimated',
    value: powerW,
    standardError: standardErrorMHz(powerW) / slope,
    interval95,
    extrapolated: isExtrapolated(curve, point),
    unit: 'W',
  };
}

/**
 * The curve as a plain function, for loops that carry the uncertainty apart.
 *
 * @param curve - from `fitPowerCurve` or `curveFromSteadyPoints`
 * @returns (power in W, die temperature in degrees Celsius) → frequency in MHz; it throws an ArgumentError at another
 * power than the one logged where only one level was, and checks nothing else
 * @example
 * const curve = curveFromSteadyPoints([
 *   { powerW: 118, temperatureC: 71, frequencyMHz: 3900 },
 *   { powerW: 118, temperatureC: 88, frequencyMHz: 3790 },
 *   { powerW: 90, temperatureC: 58, frequencyMHz: 3560 },
 * ]);
 * frequencyFunction(curve)(118, 71); // => 3900 within 15
 */
export function frequencyFunction(curve: PowerCurve): (powerW: number, temperatureC: number) => number {
  requireCurve(curve, 'frequencyFunction');
  const { bound, effective } = unpack(curve);
  const frequencyMHz =
    effective.ratio === 1
      ? bound.frequencyMHz
      : (powerW: number, temperatureC: number): number =>
          effective.ratio * bound.frequencyMHz(powerW, temperatureC);
  if (powerDependenceKnown(curve)) return frequencyMHz;
  const [low, high] = curve.testedRange.powerW;
  return (powerW, temperatureC) => {
    if (answersAt(curve, powerW)) return frequencyMHz(powerW, temperatureC);
    throw new ArgumentError({
      caller: 'frequencyFunction',
      argument: 'powerW',
      expected: `the one power level of this curve, ${low.toFixed(1)} to ${high.toFixed(1)} W`,
      received: powerW,
      remedy: 'log a run at a second power cap at least 15 % away and fit both',
    });
  };
}

/**
 * The inverse of `frequencyFunction`, W: NaN where no power gives the frequency, or more power no higher one, and where only
 * one power level was logged.
 */
export function powerFunction(curve: PowerCurve): (frequencyMHz: number, temperatureC: number) => number {
  requireCurve(curve, 'powerFunction');
  if (!powerDependenceKnown(curve)) return () => Number.NaN;
  const { bound, effective } = unpack(curve);
  return (frequencyMHz, temperatureC) => {
    const ownMHz = frequencyMHz / effective.ratio;
    const powerW = bound.powerW(ownMHz, temperatureC);
    return powerW > 0 && bound.powerW(RISE_RATIO * ownMHz, temperatureC) > powerW ? powerW : Number.NaN;
  };
}

/** Whether the curve answers at other powers than those logged: two power levels or more stand behind it. */
export function powerDependenceKnown(curve: PowerCurve): boolean {
  return curve.frequencyPerPowerMHzPerW.kind === 'estimated';
}

/** Slopes of the curve at a point: MHz per W at a held temperature, MHz per K at a held power. */
export function slopes(
  curve: PowerCurve,
  at: PowerAndTemperature,
): { readonly perPower: number; readonly perTemperature: number } {
  const { bound, effective } = unpack(curve);
  const { perPower, perTemperature } = slopesOf(bound, at.powerW, at.temperatureC);
  return { perPower: effective.ratio * perPower, perTemperature: effective.ratio * perTemperature };
}

/** The slope over temperature alone, MHz per K at a held power. */
export function slopePerTemperature(curve: PowerCurve, at: PowerAndTemperature): number {
  const { bound, effective } = unpack(curve);
  return effective.ratio * perTemperatureOf(bound, at.powerW, at.temperatureC);
}

/**
 * Covariance that one curve gives to its frequencies at several points, MHz²; row and column in the order of the
 * points. The points share the curve's parameters; what a point carries beyond them, the form's discrepancy, is
 * correlated by its scales in power and temperature.
 *
 * @param curve - from `fitPowerCurve` or `curveFromSteadyPoints`
 * @param points - powers in W, above 0, and die temperatures in degrees Celsius
 */
export function frequencyCovariance(
  curve: PowerCurve,
  points: readonly PowerAndTemperature[],
): readonly (readonly number[])[] {
  const { bound, form, effective } = unpack(curve);
  const gradients = points.map(({ powerW, temperatureC }) => {
    const gradient = new Float64Array(form.parameters.length);
    bound.gradient(powerW, temperatureC, gradient);
    return gradient;
  });
  // The loss at a voltage offset is common to all points.
  const perShareMHz = points.map(({ powerW, temperatureC }) =>
    effective.standardErrorFraction === 0
      ? 0
      : effective.standardErrorFraction * bound.frequencyMHz(powerW, temperatureC),
  );
  const beyondMHz = points.map((point) => Math.sqrt(varianceBeyondParameters(curve, bound, point)));
  const { powerScaleRatio, temperatureScaleK } = curve.discrepancy;
  return points.map((a, k) =>
    points.map((b, l) => {
      const byPower = Math.log(a.powerW / b.powerW) / powerScaleRatio;
      const byTemperature = (a.temperatureC - b.temperatureC) / temperatureScaleK;
      const reported =
        bilinearForm(gradients[k], curve.covariance.matrix, gradients[l]) +
        beyondMHz[k] * beyondMHz[l] * Math.exp(-0.5 * (byPower ** 2 + byTemperature ** 2));
      return effective.ratio ** 2 * reported + perShareMHz[k] * perShareMHz[l];
    }),
  );
}

function varianceBeyondParameters(curve: PowerCurve, bound: BoundForm, at: PowerAndTemperature): number {
  const { standardDeviationMHz, powerScaleRatio, temperatureScaleK, correction } = curve.discrepancy;
  if (correction !== undefined) {
    return correction.standardDeviationRatio ** 2 * bound.openVariance(at.powerW, at.temperatureC);
  }
  const [lowW, highW] = curve.testedRange.powerW;
  const [lowC, highC] = curve.testedRange.temperatureC;
  const beyondPower = Math.max(0, Math.log(lowW / at.powerW), Math.log(at.powerW / highW)) / powerScaleRatio;
  const beyondTemperature = Math.max(0, lowC - at.temperatureC, at.temperatureC - highC) / temperatureScaleK;
  return standardDeviationMHz ** 2 * (1 + beyondPower ** 2 + beyondTemperature ** 2);
}

function answersAt(curve: PowerCurve, powerW: number): boolean {
  if (powerDependenceKnown(curve)) return true;
  const [low, high] = curve.testedRange.powerW;
  return powerW >= low / LEVEL_TOLERANCE_RATIO && powerW <= high * LEVEL_TOLERANCE_RATIO;
}

function isExtrapolated(curve: PowerCurve, at: PowerAndTemperature): boolean {
  const { powerW, temperatureC } = curve.testedRange;
  return (
    !atTestedOffset(curve) ||
    at.powerW < powerW[0] / EDGE_POWER_RATIO ||
    at.powerW > powerW[1] * EDGE_POWER_RATIO ||
    at.temperatureC < temperatureC[0] - EDGE_TEMPERATURE_K ||
    at.temperatureC > temperatureC[1] + EDGE_TEMPERATURE_K
  );
}

/** Whether runs were logged at the voltage offset that the curve answers for. */
export function atTestedOffset({ voltage }: PowerCurve): boolean {
  return voltage === undefined || voltage.testedOffsetsMv.includes(voltage.offsetMv);
}

/** Other names do no harm here, since every name of a point is needed: a row of a table may be given as it is. */
function requirePoint(at: unknown, caller: string, expected: string): void {
  if (typeof at === 'object' && at !== null) return;
  throw new ArgumentError({ caller, argument: 'at', expected, received: at });
}

function requirePower(caller: string, powerW: number): void {
  requireNumber(powerW, { caller, argument: 'at.powerW' }, { above: 0 });
}

function requireTemperature(caller: string, temperatureC: number): void {
  requireNumber(temperatureC, { caller, argument: 'at.temperatureC' }, { above: -273.15 });
}
