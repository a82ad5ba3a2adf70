import type { Estimate } from '../../numerics/estimate.js';

/** An uncertain number in a unit `factor` times smaller, for columns in per cent or per gigahertz; factor > 0. */
export function scaled(estimate: Estimate, factor: number): Estimate {
  if (estimate.kind === 'unavailable')
    return estimate.value === undefined ? estimate : { ...estimate, value: estimate.value * factor };
  const [low, high] = estimate.interval95;
  return {
    ...estimate,
    value: estimate.value * factor,
    standardError: estimate.standardError * factor,
    interval95: [low * factor, high * factor],
  };
}
