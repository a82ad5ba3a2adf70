/** The question of the cap's benchmarks: averages of three runs, as a cooler and a curve with every kind of uncertainty. */
import { curveFromSteadyPoints } from '../../toolkit/power/fit/curve-from-steady-points.js';
import type { PowerCurve } from '../../toolkit/power/power-curve.js';
import { coolerFromSteadyPoints } from '../../toolkit/thermal/cooler-from-steady-points.js';
import type { CoolerModel, ResistanceLaw } from '../../toolkit/thermal/cooler-model.js';

const points = [
  { powerW: 70, temperatureC: 57.3, frequencyMHz: 3310 },
  { powerW: 92, temperatureC: 68.4, frequencyMHz: 3570 },
  { powerW: 118, temperatureC: 81.2, frequencyMHz: 3790 },
];
const averaged = coolerFromSteadyPoints(points);
/** The averages' resistance with an uncertainty of every kind, so that nothing is left out of the work. */
export const law: ResistanceLaw = {
  ...averaged.resistanceLaw,
  exponentSource: 'fitted',
  powerExponent: 0.04,
  exponentStandardError: 0.02,
  correlation: 0.3,
  degreesOfFreedom: 8,
};
export const cooler: CoolerModel = { ...averaged, resistanceLaw: law };
export const curve: PowerCurve = curveFromSteadyPoints(points);
