import { ArgumentError } from '../../errors.js';
import { studentTQuantile } from '../../numerics/distributions.js';
import type { Estimate } from '../../numerics/estimate.js';
import { inUnit, unavailable } from '../../numerics/estimates.js';
import { bilinearForm } from '../bilinear-form.js';
import { type ThroughputRelation, throughputGradient, throughputOf } from '../fit/throughput-relation.js';
import type { PowerCurve } from '../power-curve.js';
import {
  frequencyAt,
  frequencyCovariance,
  frequencyFunction,
  type PowerAndTemperature,
  slopes,
} from './frequency-at.js';
import { requireCurve } from './require-curve.js';

/** A frequency this much beside the tested ones counts as inside. */
const EDGE_FREQUENCY_RATIO = 1.01;

/**
 * Throughput at a power and a temperature, with its uncertainty: the curve's frequency put into its throughput relation.
 *
 * The frequency's uncertainty, carried over by the relation's slope, and the relation's own are independent and add in
 * quadrature, as standard errors and as half-widths of the 95 % interval.
 *
 * @param curve - from `fitPowerCurve`, of runs with a throughput column
 * @param at - power in W, above 0, and die temperature in degrees Celsius
 * @returns work per second, in the unit of the logs; marked `extrapolated` outside the tested powers, temperatures or
 * frequencies. Not identifiable where no throughput was logged, or where the frequency is not.
 * @throws ArgumentError if a number is not finite or the power is not positive
 * @example
 * const atCap = (powerW: number, finalC: number) => {
 *   const timeS = Array.from({ length: 600 }, (_, i) => i);
 *   const temperatureC = timeS.map((t) => finalC - 25 * Math.exp(-t / 90));
 *   const frequencyMHz = temperatureC.map((t) => 3900 * ((powerW - 10 - 14 * Math.exp((t - 60) / 32)) / 94) ** (1 / 2.9));
 *   const throughputPerS = frequencyMHz.map((f) => 0.0016 * f);
 *   return makeRun({ timeS, temperatureC, powerW: timeS.map(() => powerW), frequencyMHz, throughputPerS },
 *     { label: `${powerW} W`, conditions: { powerCapW: powerW } });
 * };
 * const curve = fitPowerCurve([atCap(118, 84), atCap(88, 68)]);
 * throughputAt(curve, { powerW: 102, temperatureC: 75 }).value; // => 5.627 within 0.04
 */
export function throughputAt(curve: PowerCurve, at: PowerAndTemperature): Estimate {
  requireCurve(curve, 'throughputAt');
  return inUnit(throughputOfFrequency(curve, frequencyAt(curve, at)), '1/s');
}

/** The same from the curve's frequency there. */
export function throughputOfFrequency(curve: PowerCurve, frequency: Estimate): Estimate {
  const { throughput } = curve;
  if (throughput === undefined || frequency.kind === 'unavailable') return unavailable('not-identifiable');
  const { perMHz, perParameter } = throughputGradient(throughput, frequency.value);
  const ofRelation = Math.sqrt(bilinearForm(perParameter, throughput.covariance.matrix, perParameter));
  const ofFrequency = perMHz * frequency.standardError;
  const halfWidth = Math.hypot(
    (perMHz * (frequency.interval95[1] - frequency.interval95[0])) / 2,
    coverageFactor95(throughput) * ofRelation,
  );
  const value = throughputOf(throughput, frequency.value);
  return {
    kind: 'estimated',
    value,
    standardError: Math.hypot(ofFrequency, ofRelation),
    interval95: [value - halfWidth, value + halfWidth],
    extrapolated: frequency.extrapolated === true || liesBeyond(throughput, frequency.value),
  };
}

/** A quantile costs more than all the rest of an estimate, and a relation never changes. */
const coverageFactors = new WeakMap<ThroughputRelation, number>();

function coverageFactor95(relation: ThroughputRelation): number {
  const factor = coverageFactors.get(relation) ?? studentTQuantile(0.975, relation.degreesOfFreedom);
  coverageFactors.set(relation, factor);
  return factor;
}

/**
 * The curve's throughput as a plain function, for loops that carry the uncertainty apart.
 *
 * @param curve - from `fitPowerCurve`, of runs with a throughput column
 * @returns (power in W, die temperature in degrees Celsius) → work per second; see `frequencyFunction` for what it
 * refuses
 * @throws ArgumentError if the curve holds no throughput
 * @example
 * const curve = curveFromSteadyPoints([
 *   { powerW: 118, temperatureC: 71, frequencyMHz: 3900 },
 *   { powerW: 90, temperatureC: 58, frequencyMHz: 3560 },
 * ]);
 * throughputFunction(curve); // => throws /throughput column/
 */
export function throughputFunction(curve: PowerCurve): (powerW: number, temperatureC: number) => number {
  requireCurve(curve, 'throughputFunction');
  const relation = requireThroughput(curve, 'throughputFunction');
  const frequency = frequencyFunction(curve);
  return (powerW, temperatureC) => throughputOf(relation, frequency(powerW, temperatureC));
}

/** Slopes of the throughput at a point: per second and W at a held temperature, per second and K at a held power. */
export function throughputSlopes(
  curve: PowerCurve,
  at: PowerAndTemperature,
): { readonly perPower: number; readonly perTemperature: number } {
  const relation = requireThroughput(curve, 'throughputSlopes');
  const { perMHz } = throughputGradient(relation, frequencyFunction(curve)(at.powerW, at.temperatureC));
  const { perPower, perTemperature } = slopes(curve, at);
  return { perPower: perMHz * perPower, perTemperature: perMHz * perTemperature };
}

/**
 * Covariance that one curve gives to its throughputs at several points, 1/s²; row and column in the order of the points.
 *
 * @param curve - a curve with throughput
 * @param points - powers in W, above 0, and die temperatures in degrees Celsius
 */
export function throughputCovariance(
  curve: PowerCurve,
  points: readonly PowerAndTemperature[],
): readonly (readonly number[])[] {
  const relation = requireThroughput(curve, 'throughputCovariance');
  const frequency = frequencyFunction(curve);
  const gradients = points.map(({ powerW, temperatureC }) =>
    throughputGradient(relation, frequency(powerW, temperatureC)),
  );
  return frequencyCovariance(curve, points).map((row, k) =>
    row.map(
      (value, l) =>
        gradients[k].perMHz * gradients[l].perMHz * value +
        bilinearForm(gradients[k].perParameter, relation.covariance.matrix, gradients[l].perParameter),
    ),
  );
}

function requireThroughput({ throughput, label }: PowerCurve, caller: string): ThroughputRelation {
  if (throughput !== undefined) return throughput;
  throw new ArgumentError({
    caller,
    argument: 'curve',
    expected: 'a curve with throughput',
    received: label,
    remedy: 'fit it to runs with a throughput column, or go by frequency',
  });
}

function liesBeyond({ testedFrequencyMHz: [low, high] }: ThroughputRelation, frequencyMHz: number): boolean {
  return frequencyMHz < low / EDGE_FREQUENCY_RATIO || frequencyMHz > high * EDGE_FREQUENCY_RATIO;
}
