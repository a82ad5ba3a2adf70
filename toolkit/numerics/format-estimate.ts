import type { Estimate } from './estimate.js';

/**
 * A number in words a person can quote: the value and the half-width of its 95 % interval, both rounded to the
 * same place.
 *
 * The number after ± is the half-width of `interval95`, not the standard error: the GUM keeps ± for intervals of
 * high confidence [JCGM100, 7.2.2]. It is quoted to two significant digits where these are below 30 and to one
 * otherwise, and the value is rounded to the same decimal place [JCGM100, 7.2.6]. An interval that is not
 * symmetric within 15 % of its half-width is written out. A missing number says why it is missing.
 *
 * @param estimate - the number
 * @param unit - its unit as it shall be read: `K/W`, `°C`; leave out for a pure number
 * @returns one line of text
 * @example
 * formatEstimate({ kind: 'estimated', value: 0.53216, standardError: 0.0061, interval95: [0.5202, 0.5441] }, 'K/W');
 * // => '0.532 ± 0.012 K/W'
 * formatEstimate({ kind: 'unavailable', reason: 'not-identifiable' }, 's'); // => 'not identifiable'
 */
export function formatEstimate(estimate: Estimate, unit = ''): string {
  if (estimate.kind === 'unavailable') {
    const reason = reasonInWords[estimate.reason];
    return estimate.value === undefined ? reason : `${formatNumber(estimate.value, unit)} (${reason})`;
  }
  const { value } = estimate;
  const [low, high] = estimate.interval95;
  const halfWidth = (high - low) / 2;
  const mark = estimate.extrapolated === true ? ', extrapolated' : '';
  if (!(halfWidth > 0)) return formatNumber(value, unit) + (mark === '' ? '' : ' (extrapolated)');
  const decimals = decimalsOf(halfWidth);
  const symmetric = Math.abs((low + high) / 2 - value) <= 0.15 * halfWidth;
  if (symmetric) {
    const text = withUnit(`${toPlace(value, decimals)} ± ${toPlace(halfWidth, decimals)}`, unit);
    return mark === '' ? text : `${text} (extrapolated)`;
  }
  // A long upper arm must not round a positive lower end to 0, which would claim what the data exclude.
  const places =
    low > 0 ? Math.min(Math.max(decimals, -Math.floor(Math.log10(low))), decimals + 2) : decimals;
  const range = withUnit(`${toPlace(low, places)} to ${toPlace(high, places)}`, unit);
  return `${withUnit(toPlace(value, places), unit)} (${range}${mark})`;
}

/**
 * A number without a stated uncertainty, to three significant digits; whole digits are never rounded away.
 *
 * @param value - any finite number
 * @param unit - its unit, or nothing
 * @example
 * formatNumber(3641.27, 'MHz'); // => '3641 MHz'
 * formatNumber(0.053216, 'K/W'); // => '0.0532 K/W'
 * formatNumber(92, 'W'); // => '92 W'
 */
export function formatNumber(value: number, unit = ''): string {
  if (!Number.isFinite(value)) return 'not a number';
  if (value === 0) return withUnit('0', unit);
  const decimals = Math.min(100, Math.max(0, 2 - Math.floor(Math.log10(Math.abs(value)))));
  const text = toPlace(value, decimals);
  return withUnit(text.includes('.') ? text.replace(/\.?0+$/, '') : text, unit);
}

/**
 * A number with as many digits as its uncertainty allows, without the uncertainty: for labels beside a drawn
 * interval.
 *
 * @param estimate - the number
 * @param unit - its unit, or nothing
 * @example
 * formatValue({ kind: 'estimated', value: 81.3271, standardError: 0.2, interval95: [80.93, 81.72] }, '°C');
 * // => '81.3 °C'
 */
export function formatValue(estimate: Estimate, unit = ''): string {
  if (estimate.kind === 'unavailable') return formatEstimate(estimate, unit);
  const halfWidth = (estimate.interval95[1] - estimate.interval95[0]) / 2;
  if (!(halfWidth > 0)) return formatNumber(estimate.value, unit);
  return withUnit(toPlace(estimate.value, decimalsOf(halfWidth)), unit);
}

const reasonInWords: Readonly<Record<Exclude<Estimate, { kind: 'estimated' }>['reason'], string>> = {
  fixed: 'fixed',
  'at-bound': 'at its bound',
  'not-identifiable': 'not identifiable',
  'too-few-points': 'too few independent points',
};

/** Decimal places that keep two significant digits below 30 and one from there on; negative: tens, hundreds. */
function decimalsOf(uncertainty: number): number {
  const exponent = Math.floor(Math.log10(uncertainty));
  const twoDigits = Math.round(uncertainty / 10 ** (exponent - 1));
  if (twoDigits >= 100) return -exponent;
  return twoDigits < 30 ? 1 - exponent : -exponent;
}

function toPlace(value: number, decimals: number): string {
  const scale = 10 ** -decimals;
  const text =
    decimals >= 0 ? value.toFixed(Math.min(100, decimals)) : (Math.round(value / scale) * scale).toFixed(0);
  const zero = /^-[0.]+$/.test(text);
  return zero ? text.slice(1) : text.replace('-', '−');
}

function withUnit(text: string, unit: string): string {
  return unit === '' ? text : `${text} ${unit}`;
}
