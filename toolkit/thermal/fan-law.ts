import type { Estimate } from '../numerics/estimate.js';
import { propagate } from '../numerics/propagation.js';
import type { Finding } from '../runs/finding.js';

/** Thermal resistance against fan speed: R(n) = R∞ + a · (n / n₀)^(−b). Plain data: survives JSON. */
export interface FanCurve {
  readonly kind: 'fan-curve';
  readonly cooler?: string;
  /** Power at which the resistances hold, W. */
  readonly atPowerW: number;
  /** Speed n₀ at which `a` is stated, revolutions per minute. */
  readonly referenceFanSpeedRpm: number;
  /** R∞: what no fan can take away, K/W. */
  readonly limitKPerW: number;
  /** a: the convection's share at n₀, K/W. */
  readonly convectionKPerW: number;
  readonly fanSpeedExponent: number;
  readonly covariance: {
    readonly parameters: readonly string[];
    readonly matrix: readonly (readonly number[])[];
  };
  readonly degreesOfFreedom: number;
  /** The models it was fitted from; none where the fan speed was part of one transient fit. */
  readonly points: readonly { readonly fanSpeedRpm: number; readonly thermalResistanceKPerW: Estimate }[];
  readonly testedRange: { readonly fanSpeedRpm: readonly [low: number, high: number] };
  readonly findings: readonly Finding[];
}

/**
 * Prior of the fan's exponent b in R ∝ n^−b: forced convection goes with flow^0.5 where it is laminar and flow^0.8 where
 * it is turbulent, and flow with speed [Bergman2011, ch. 7–8].
 */
export const FAN_EXPONENT_PRIOR: { readonly mean: number; readonly standardDeviation: number } = {
  mean: 0.65,
  standardDeviation: 0.12,
};

/** Names of a fan curve's parameters, in the order of its covariance. */
export const FAN_CURVE_PARAMETERS: readonly string[] = ['limitKPerW', 'convectionKPerW', 'fanSpeedExponent'];

/** Speeds closer than this are one speed. */
export const DISTINCT_SPEED_RATIO: number = 1.08;

const TESTED_MARGIN = 0.02;

/** Resistance at a fan speed with its standard error, K/W, and whether that speed lies beyond those logged. */
export function fanResistance(
  curve: FanCurve,
  fanSpeedRpm: number,
): { readonly value: number; readonly standardError: number; readonly extrapolated: boolean } {
  const { value, standardError } = propagate(
    ([limit, convection, exponent]) =>
      limit + convection * (fanSpeedRpm / curve.referenceFanSpeedRpm) ** -exponent,
    [curve.limitKPerW, curve.convectionKPerW, curve.fanSpeedExponent],
    curve.covariance.matrix,
  );
  const [low, high] = curve.testedRange.fanSpeedRpm;
  return {
    value,
    standardError,
    extrapolated: fanSpeedRpm < low * (1 - TESTED_MARGIN) || fanSpeedRpm > high * (1 + TESTED_MARGIN),
  };
}

/** Fewer distinct speeds than this hardly determine the exponent. */
const ENOUGH_SPEEDS = 4;

/** That the exponent rests on the prior, where few speeds were logged. */
export function assumedFanExponent(speedCount: number): Finding[] {
  if (speedCount >= ENOUGH_SPEEDS) return [];
  return [
    {
      code: 'assumed-fan-exponent',
      severity: 'note',
      message:
        `${speedCount} fan speeds hardly determine how steeply the resistance falls; the exponent rests on ` +
        `${FAN_EXPONENT_PRIOR.mean} ± ${FAN_EXPONENT_PRIOR.standardDeviation} (between laminar and turbulent flow).`,
      remedy: 'log four fan speeds or more, the lowest and the highest you would use among them',
    },
  ];
}
