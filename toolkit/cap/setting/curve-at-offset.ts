import type { PowerCurve } from '../../power/power-curve.js';
import { undervolt } from '../../power/predict/undervolt.js';

/** A curve never changes, and working it out anew costs more than all else of a question that is asked again and again. */
const kept = new WeakMap<PowerCurve, Map<number, PowerCurve>>();

/** The curve at another core voltage, as `undervolt` gives it; itself at an offset of 0. */
export function curveAtOffset(curve: PowerCurve, voltageOffsetMv: number): PowerCurve {
  if (voltageOffsetMv === 0) return curve;
  const known = kept.get(curve) ?? new Map<number, PowerCurve>();
  kept.set(curve, known);
  const found = known.get(voltageOffsetMv) ?? undervolt(curve, { offsetMv: voltageOffsetMv });
  known.set(voltageOffsetMv, found);
  return found;
}
