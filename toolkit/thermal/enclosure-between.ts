import { ArgumentError, type KnownNames, requireKnownNames, requireNumber } from '../errors.js';
import type { Estimate } from '../numerics/estimate.js';
import { estimated } from '../numerics/estimates.js';
import type { CoolerModel } from './cooler-model.js';
import { requireModel } from './require-model.js';
import { resistanceAt } from './steady-temperature.js';

/** What an enclosure adds, measured. */
export interface MeasuredEnclosure {
  readonly kind: 'measured-enclosure';
  /** Its name, where it comes from a joint fit. */
  readonly enclosure?: string;
  /** Power at which it is stated, W. */
  readonly atPowerW: number;
  /** The enclosure's own thermal resistance, room to intake air, K/W. */
  readonly thermalResistanceKPerW: Estimate;
  /** What its air and walls store, where it comes from a joint fit, J/K. */
  readonly heatCapacityJPerK?: Estimate;
  /** What it adds to the intake air at that power, K. */
  readonly riseK: Estimate;
  /** The same as the scenario of `chooseCap` takes it: `enclosure: measured.scenario`. */
  readonly scenario: {
    readonly riseK: { readonly mean: number; readonly standardDeviation: number };
    readonly atPowerW: number;
  };
}

const OPTION_NAMES: KnownNames<{ readonly atPowerW?: number }> = { atPowerW: true };

/**
 * The enclosure's own resistance and rise, from a cooler fitted on the open bench and the same cooler fitted in the
 * enclosure with the **room** as its air: R_enclosure = R_in − R_bench at one power, the uncertainties of both fits
 * added in quadrature [JCGM100, 5.1.2]. Assumes the same mount and fan speed, and other heat in the enclosure as
 * during the run.
 *
 * @param bench - fitted from runs on the open bench
 * @param inEnclosure - fitted from runs in the enclosure whose air column or ambientC is the room's, not the intake's
 * @param options - atPowerW: where to state it, W; default: the power of the enclosure runs
 * @throws ArgumentError if the coolers differ, both stand in one enclosure, or the enclosure seems to cool
 * @example
 * const bench = coolerFromSteadyPoints([{ powerW: 80, temperatureC: 64, ambientC: 24 }], { enclosure: 'open bench' });
 * const drawer = coolerFromSteadyPoints([{ powerW: 80, temperatureC: 72, ambientC: 24 }], { enclosure: 'drawer' });
 * enclosureBetween(bench, drawer).riseK; // => ({ kind: 'estimated', value: 8 }) within 1e-9
 */
export function enclosureBetween(
  bench: CoolerModel,
  inEnclosure: CoolerModel,
  options: { readonly atPowerW?: number } = {},
): MeasuredEnclosure {
  const caller = 'enclosureBetween';
  requireModel(bench, caller, 'bench');
  requireModel(inEnclosure, caller, 'inEnclosure');
  requireKnownNames(options, OPTION_NAMES, { caller, argument: 'options' });
  const { atPowerW = inEnclosure.resistanceLaw.atPowerW } = options;
  requireNumber(atPowerW, { caller, argument: 'options.atPowerW' }, { above: 0 });
  if (bench.cooler !== inEnclosure.cooler) {
    throw new ArgumentError({
      caller,
      argument: 'inEnclosure',
      expected: `a model of the cooler of the bench runs (${bench.cooler ?? 'unnamed'})`,
      received: inEnclosure.cooler ?? 'unnamed',
    });
  }
  if (bench.enclosure === inEnclosure.enclosure) {
    throw new ArgumentError({
      caller,
      argument: 'inEnclosure',
      expected: 'a model from another enclosure than the bench runs',
      received: inEnclosure.enclosure ?? 'no enclosure named',
      remedy: 'name the place of each run in its conditions: enclosure: "open bench", enclosure: "drawer"',
    });
  }
  const outside = resistanceAt(bench, atPowerW);
  const inside = resistanceAt(inEnclosure, atPowerW);
  if (outside.kind === 'unavailable' || inside.kind === 'unavailable') {
    throw new ArgumentError({
      caller,
      argument: outside.kind === 'unavailable' ? 'bench' : 'inEnclosure',
      expected: 'a model with a known thermal resistance',
      received: 'one without',
    });
  }
  const value = inside.value - outside.value;
  const standardError = Math.hypot(inside.standardError, outside.standardError);
  if (value < -2 * standardError) {
    throw new ArgumentError({
      caller,
      argument: 'inEnclosure',
      expected: 'runs that are warmer over the room than those on the bench',
      received: `${value.toPrecision(3)} K/W`,
      remedy:
        'give the room as the air of the enclosure runs, not the air at the intake inside the enclosure',
    });
  }
  const degreesOfFreedom = Math.min(
    bench.resistanceLaw.degreesOfFreedom,
    inEnclosure.resistanceLaw.degreesOfFreedom,
  );
  const extrapolated = outside.extrapolated === true || inside.extrapolated === true;
  return {
    kind: 'measured-enclosure',
    atPowerW,
    thermalResistanceKPerW: estimated(value, standardError, { degreesOfFreedom, extrapolated }),
    riseK: estimated(value * atPowerW, standardError * atPowerW, { degreesOfFreedom, extrapolated }),
    scenario: {
      riseK: { mean: value * atPowerW, standardDeviation: standardError * atPowerW },
      atPowerW,
    },
  };
}
