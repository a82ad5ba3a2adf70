import type { PowerCurve } from '../power-curve.js';
import type { CurveForm } from './curve-form.js';
import { electroThermal } from './electro-thermal.js';
import { polynomial, powerLaw } from './plain-forms.js';

/** The form of a curve, with the knots and the voltage it was fitted with. */
export function formOf({ form, discrepancy, voltage }: PowerCurve): CurveForm {
  if (form === 'power-law') return powerLaw;
  if (form === 'polynomial') return polynomial;
  return electroThermal(discrepancy.correction?.knotsMHz ?? [], voltage !== undefined);
}
