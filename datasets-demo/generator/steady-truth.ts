import { frequencyAtPowerMHz, type Processor, packagePowerW } from './processor.js';
import { enclosureRiseK, steadyTemperatures, type ThermalNetwork } from './thermal-network.js';

/** Where a rig settles under full load in constant air, without noise and without the governor's dithering. */
export interface SteadyTruth {
  readonly powerCapW: number;
  readonly roomAirC: number;
  readonly limitedBy: 'cap' | 'temperature' | 'frequency';
  readonly powerW: number;
  readonly temperatureC: number;
  readonly frequencyMHz: number;
  readonly intakeAirC: number;
  /** (die − intake air) / power. */
  readonly thermalResistanceKPerW: number;
}

/** The steady state under a cap: the cap holds, or the processor's limit, or its highest frequency. */
export function steadyTruth(
  rig: { readonly network: ThermalNetwork; readonly processor: Processor },
  at: { readonly powerCapW: number; readonly roomAirC: number },
): SteadyTruth {
  const { network, processor } = rig;
  const dieC = (powerW: number): number => steadyTemperatures(network, powerW, at.roomAirC)[0];
  const uncappedW = (powerW: number): number =>
    packagePowerW(processor, {
      frequencyMHz: processor.highestMHz,
      activity: 1,
      temperatureC: dieC(powerW),
    });

  let limitedBy: SteadyTruth['limitedBy'] = 'cap';
  let powerW = at.powerCapW;
  if (uncappedW(powerW) < powerW) {
    limitedBy = 'frequency';
    powerW = root((w) => w - uncappedW(w), 0, powerW);
  }
  if (dieC(powerW) > processor.limitC) {
    limitedBy = 'temperature';
    powerW = root((w) => dieC(w) - processor.limitC, 0, powerW);
  }
  const temperatureC = dieC(powerW);
  const intakeAirC = at.roomAirC + enclosureRiseK(network.enclosure, powerW);
  return {
    ...at,
    limitedBy,
    powerW,
    temperatureC,
    frequencyMHz: frequencyAtPowerMHz(processor, { powerW, temperatureC }),
    intakeAirC,
    thermalResistanceKPerW: (temperatureC - intakeAirC) / powerW,
  };
}

/** Power whose steady die temperature is the limit. */
export function powerAtLimitW(
  network: ThermalNetwork,
  at: { readonly limitC: number; readonly roomAirC: number },
): number {
  return root((w) => steadyTemperatures(network, w, at.roomAirC)[0] - at.limitC, 0, 1000);
}

/** Root of an increasing function, by bisection. */
function root(increasing: (x: number) => number, from: number, to: number): number {
  let low = from;
  let high = to;
  for (let round = 0; round < 60; round += 1) {
    const middle = (low + high) / 2;
    if (increasing(middle) > 0) high = middle;
    else low = middle;
  }
  return (low + high) / 2;
}
