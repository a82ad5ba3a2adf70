import { createWhatIf } from '../../cap/choose/what-if.js';
import type { CapScenario } from '../../cap/scenario/cap-scenario.js';
import { ArgumentError } from '../../errors.js';
import type { PowerCurve } from '../../power/power-curve.js';
import type { CoolerModel } from '../../thermal/cooler-model.js';
import type { Panel } from './panel.js';

/** What `explore` starts from: the models and the scenario of `chooseCap` in one object. */
export interface ExploreScenario extends CapScenario {
  readonly cooler: CoolerModel;
  /** The power curve of the same processor; without one the panel does not say what a cap costs. */
  readonly curve?: PowerCurve;
}

/**
 * A what-if panel: sliders and number fields for cap, room air, enclosure, fan speed, voltage offset, limit and
 * confidence; beside them the steady temperature with its band, frequency, throughput against the default cap, sound, time
 * to the limit, and the recommended cap, all following live, with the cautions of `chooseCap` for the cap that is set.
 *
 * The model runs in the page: it works in exported pages and in viewers without a kernel. A slider moves the middle of
 * what is uncertain and keeps its spread. The fan has a control where the scenario has one (`fan`), the voltage offset
 * likewise (`voltageOffset`). A button gives the present setting back as a cell to paste.
 *
 * @param start - cooler, curve, and the scenario as for `chooseCap`
 * @throws ArgumentError naming the option at fault, NumericalError where the cooler's data cannot carry any cap
 * @example
 * const points = [
 *   { powerW: 60, temperatureC: 52.1, frequencyMHz: 3180 },
 *   { powerW: 80, temperatureC: 61.9, frequencyMHz: 3450 },
 *   { powerW: 100, temperatureC: 72.2, frequencyMHz: 3650 },
 * ];
 * const cooler = coolerFromSteadyPoints(points);
 * const curve = curveFromSteadyPoints(points);
 * explore({ cooler, curve, limitC: 80, ambientC: { low: 22, high: 28 }, enclosure: { riseK: 9 } }).kind; // => 'panel'
 */
export function explore(start: ExploreScenario): Panel {
  if (typeof start !== 'object' || start === null)
    throw new ArgumentError({
      caller: 'explore',
      argument: 'start',
      expected: 'an object with cooler, curve and the scenario',
      received: start,
      remedy: 'write explore({ cooler, curve, limitC: 85, ambientC: 24 })',
    });
  const { cooler, curve, ...scenario } = start;
  createWhatIf(cooler, curve, scenario); // says what is wrong with them now, not in the page
  return {
    kind: 'panel',
    data: { panel: 'cap', cooler, ...(curve === undefined ? {} : { curve }), scenario },
  };
}
