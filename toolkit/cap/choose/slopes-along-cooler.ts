import { unavailable } from '../../numerics/estimates.js';
import type { PowerCurve } from '../../power/power-curve.js';
import {
  frequencyCovariance,
  frequencyFunction,
  type PowerAndTemperature,
  powerDependenceKnown,
  slopes,
} from '../../power/predict/frequency-at.js';
import type { TemperatureDraws } from '../draws/temperature-draws.js';
import { fromCurveAndDraws, standardErrorOfSum } from '../setting/quantity-of-curve.js';
import type { CapChoice } from './cap-choice.js';

/** What one more watt changes in temperature and, along the cooler's own line, in frequency. */
export function slopesAlongCooler(
  curve: PowerCurve | undefined,
  draws: TemperatureDraws,
  at: {
    readonly powerCapW: number;
    readonly temperatureC: number;
    /** Each draw's temperature at the cap. */
    readonly temperaturesC: Float64Array;
    readonly extrapolated: boolean;
  },
): Pick<CapChoice['sensitivities'], 'temperaturePerPowerKPerW' | 'frequencyPerPowerMHzPerW'> {
  const { powerCapW, temperatureC, temperaturesC, extrapolated } = at;
  let sum = 0;
  let squares = 0;
  for (let i = 0; i < draws.count; i++) {
    const slope = draws.slopeAt(i, powerCapW, temperaturesC[i]);
    sum += slope;
    squares += slope * slope;
  }
  const temperaturePerPowerKPerW = sum / draws.count;
  const spreadKPerW = Math.sqrt(Math.max(0, squares / draws.count - temperaturePerPowerKPerW ** 2));
  if (curve === undefined || !powerDependenceKnown(curve))
    return { temperaturePerPowerKPerW, frequencyPerPowerMHzPerW: unavailable('not-identifiable') };
  const stepW = 0.01 * powerCapW;
  const along = (changeW: number): PowerAndTemperature => ({
    powerW: powerCapW + changeW,
    temperatureC: temperatureC + changeW * temperaturePerPowerKPerW,
  });
  const ends = [along(stepW), along(-stepW)] as const;
  const frequency = frequencyFunction(curve);
  const [highMHz, lowMHz] = ends.map((end) => frequency(end.powerW, end.temperatureC));
  return {
    temperaturePerPowerKPerW,
    frequencyPerPowerMHzPerW: fromCurveAndDraws(
      curve,
      (highMHz - lowMHz) / (2 * stepW),
      {
        ofCurve: standardErrorOfSum([1, -1], frequencyCovariance(curve, ends)) / (2 * stepW),
        ofDraws: Math.abs(slopes(curve, along(0)).perTemperature) * spreadKPerW,
      },
      extrapolated,
    ),
  };
}
