/** A number with its uncertainty. */
export interface EstimatedNumber {
  readonly kind: 'estimated';
  readonly value: number;
  /** Standard uncertainty in the sense of the GUM, in the unit of `value`. */
  readonly standardError: number;
  /** Where the truth lies with 95 % confidence, in the unit of `value`. */
  readonly interval95: readonly [low: number, high: number];
  /** True where the answer lies outside the range the data were logged in. */
  readonly extrapolated?: boolean;
  /** Unit of `value` as figures and tables write it, where the number stands alone and no field's name says it. */
  readonly unit?: string;
}

/** Why a number or its uncertainty is missing. */
export type UnavailableReason = 'fixed' | 'at-bound' | 'not-identifiable' | 'too-few-points';

/** A number that the data do not determine; `value` is present only where it means something. */
export interface UnavailableNumber {
  readonly kind: 'unavailable';
  readonly reason: UnavailableReason;
  /** The number itself where it was fixed by the caller, sits at a bound, or is known but for its uncertainty. */
  readonly value?: number;
}

/**
 * An uncertain number. The union makes the reader ask before using it: an unknown uncertainty is never 0, NaN
 * or infinite.
 */
export type Estimate = EstimatedNumber | UnavailableNumber;
