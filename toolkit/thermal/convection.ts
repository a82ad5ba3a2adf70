/**
 * Below this share of the reference power the convection's power law x^(−q) is continued as a constant: it is an
 * interpolation around the logged powers, and has no meaning near 0 W.
 */
export const LOWEST_POWER_SHARE: number = 0.05;
