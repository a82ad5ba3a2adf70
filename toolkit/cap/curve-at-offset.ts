import type { PowerCurve } from '../power/power-curve.js';
import { undervolt } from '../power/undervolt.js';

/** The curve at another core voltage, as `undervolt` gives it; itself at an offset of 0. */
export function curveAtOffset(curve: PowerCurve, voltageOffsetMv: number): PowerCurve {
  return voltageOffsetMv === 0 ? curve : undervolt(curve, { offsetMv: voltageOffsetMv });
}
