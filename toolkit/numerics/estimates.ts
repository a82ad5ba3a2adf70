import { type KnownNames, NumericalError, requireKnownNames, requireNumber } from '../errors.js';
import { studentTQuantile } from './distributions.js';
import type { Estimate, EstimatedNumber, UnavailableNumber, UnavailableReason } from './estimate.js';

/** What `estimated` may be told besides the number and its standard error. */
export interface EstimatedOptions {
  /** Degrees of freedom behind the standard error, above 0; without them the interval is the normal one. */
  readonly degreesOfFreedom?: number;
  /** True where the answer lies outside the range the data were logged in. */
  readonly extrapolated?: boolean;
}

const OPTION_NAMES: KnownNames<EstimatedOptions> = { degreesOfFreedom: true, extrapolated: true };

/**
 * An uncertain number with its 95 % interval, value ± t₀.₉₇₅(ν)·standard error [JCGM100, annex G].
 *
 * @param value - best estimate, any unit
 * @param standardError - standard uncertainty in the same unit, at least 0
 * @throws ArgumentError if a number is not finite, the standard error is negative or the degrees of freedom are not
 * positive
 * @example
 * estimated(0.42, 0.01, { degreesOfFreedom: 9 }); // => ({ kind: 'estimated', value: 0.42, interval95: [0.39737843, 0.44262157] }) within 1e-8
 */
export function estimated(
  value: number,
  standardError: number,
  options: EstimatedOptions = {},
): EstimatedNumber {
  requireNumber(value, {
    caller: 'estimated',
    argument: 'value',
    remedy: 'use unavailable(reason) for a number that is not known',
  });
  requireNumber(
    standardError,
    {
      caller: 'estimated',
      argument: 'standardError',
      remedy: 'use unavailable(reason) where the uncertainty is not known',
    },
    { atLeast: 0 },
  );
  requireKnownNames(options, OPTION_NAMES, { caller: 'estimated', argument: 'options' });
  return estimatedWithFactor(
    value,
    standardError,
    studentTQuantile(0.975, options.degreesOfFreedom ?? Number.POSITIVE_INFINITY),
    options.extrapolated,
  );
}

/** An estimate that stands alone, with its unit. */
export function inUnit(estimate: Estimate, unit: string): Estimate {
  return estimate.kind === 'estimated' ? { ...estimate, unit } : estimate;
}

/** `estimated` for callers that already hold the coverage factor of their degrees of freedom. */
export function estimatedWithFactor(
  value: number,
  standardError: number,
  coverageFactor95: number,
  extrapolated?: boolean,
): EstimatedNumber {
  const halfWidth = coverageFactor95 * standardError;
  const estimate: EstimatedNumber = {
    kind: 'estimated',
    value,
    standardError,
    interval95: [value - halfWidth, value + halfWidth],
  };
  return extrapolated === undefined ? estimate : { ...estimate, extrapolated };
}

/**
 * `estimatedWithFactor` of a positive quantity: the interval is symmetric in its logarithm, so that it ends above 0; not
 * identifiable where the standard error is as large as the value.
 */
export function positiveEstimate(value: number, standardError: number, coverageFactor95: number): Estimate {
  const logStandardError = standardError / value;
  if (!(logStandardError < 1)) return unavailable('not-identifiable');
  const factor = Math.exp(coverageFactor95 * logStandardError);
  return { kind: 'estimated', value, standardError, interval95: [value / factor, value * factor] };
}

/**
 * A number that the data do not determine.
 *
 * @param reason - why it is missing
 * @param value - only where it means something: a number fixed by the caller, or the bound it sits at
 * @throws ArgumentError if a value is given that is not finite
 * @example
 * unavailable('at-bound', 0); // => ({ kind: 'unavailable', reason: 'at-bound', value: 0 })
 */
export function unavailable(reason: UnavailableReason, value?: number): UnavailableNumber {
  if (value === undefined) return { kind: 'unavailable', reason };
  requireNumber(value, {
    caller: 'unavailable',
    argument: 'value',
    remedy: 'leave it out where nothing is known',
  });
  return { kind: 'unavailable', reason, value };
}

const inWords: Readonly<Record<UnavailableReason, string>> = {
  fixed: 'it was fixed and no value was recorded; give the value with the estimate',
  'at-bound': 'the fit stopped at a bound and no value was recorded; widen the bound or simplify the model',
  'not-identifiable':
    'the data do not determine it (not-identifiable); log runs that vary what it depends on, or fix it',
  'too-few-points': 'there are too few points (too-few-points); log longer runs or more of them',
};

/**
 * The plain number in an estimate, for use where its uncertainty is carried separately.
 *
 * @throws NumericalError that names the reason where there is no number
 * @example
 * requireValue(estimated(0.42, 0.01)); // => 0.42
 * @example
 * requireValue(unavailable('not-identifiable')); // => throws /not-identifiable/
 */
export function requireValue(estimate: Estimate): number {
  if (estimate.value !== undefined) return estimate.value;
  const reason = estimate.kind === 'unavailable' ? inWords[estimate.reason] : 'it carries no number';
  throw new NumericalError(`requireValue: the number is unavailable because ${reason}`);
}
