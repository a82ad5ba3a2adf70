import { type KnownNames, requireKind, requireKnownNames, requireNumber } from '../../errors.js';
import type { Estimate } from '../../numerics/estimate.js';
import { quantileOf } from '../../numerics/order-statistic.js';
import type { PowerCurve } from '../../power/power-curve.js';
import { powerFunction } from '../../power/predict/frequency-at.js';
import { leakageSlopeWPerK } from '../../power/predict/leakage-slope.js';
import type { CoolerModel } from '../../thermal/cooler-model.js';
import { requireModel } from '../../thermal/require-model.js';
import { meansOf } from '../draws/stage-temperatures.js';
import { drawSteady, type SteadyDraws, slopeAt, temperatureOf } from '../draws/steady-draws.js';
import {
  lowestFixedPoint,
  type PowerOfTemperature,
  powerAtFrequency,
  solveDemand,
} from '../draws/uncapped-demand.js';
import type { CapScenario } from '../scenario/cap-scenario.js';
import { settleEnclosure } from '../scenario/settle-parts.js';
import { CAP_DEFAULTS, requireAmbient } from '../scenario/settle-scenario.js';
import { liesOutside } from './cap-reach.js';
import { MOST_LOOP_GAIN_RATIO, nearRunaway } from './runaway.js';

/** A frequency that is held with its voltage, and where. */
export interface HeldFrequencyScenario {
  /** Held whatever power it takes, MHz. */
  readonly frequencyMHz: number;
  /** Air temperature of the room, degrees Celsius. */
  readonly ambientC: CapScenario['ambientC'];
  /** What the enclosure adds to the intake air. None: open bench. */
  readonly enclosure?: CapScenario['enclosure'];
}

const SCENARIO_NAMES: KnownNames<HeldFrequencyScenario> = {
  frequencyMHz: true,
  ambientC: true,
  enclosure: true,
};

/** Where temperature and leakage have settled with each other. */
export interface SteadyStateAtFrequency {
  readonly temperatureC: Estimate;
  readonly powerW: Estimate;
  /** dT/dP · ∂P/∂T there: what a small disturbance comes back as; 1 is thermal runaway. */
  readonly loopGainRatio: number;
}

/**
 * Steady temperature and power where frequency and voltage are held, whatever power that takes: no cap binds, and
 * temperature and leakage feed each other.
 *
 * The lowest root of T = air + R(P)·P, P = P(f, T). With constant R and a leakage of P₀·e^(b(T − T₀)) beside a power P_d
 * that does not depend on temperature, T = Tₐ − W(−b·R·P₀·e^(b(Tₐ − T₀)))/b with Tₐ = air + R·P_d and W Lambert's function;
 * it exists while the argument is at or above −1/e. The interval comes from the draws of resistance, room and
 * enclosure; the curve's own uncertainty of the power is not in it.
 *
 * Near thermal runaway no answer is given. Leave the processor's own thermal protection on.
 *
 * @param cooler - a fitted cooler; its resistance must be known
 * @param curve - an electro-thermal power curve of the same processor
 * @param scenario - frequency in MHz, room air in degrees Celsius, rises in K
 * @throws ArgumentError naming the option at fault, also where the curve does not reach the frequency
 * @throws NumericalError where there is no steady state, or its loop gain is 0.8 or more
 * @example
 * const points = [
 *   { powerW: 118, temperatureC: 71, frequencyMHz: 3900 },
 *   { powerW: 118, temperatureC: 88, frequencyMHz: 3790 },
 *   { powerW: 90, temperatureC: 58, frequencyMHz: 3560 },
 * ];
 * const curve = curveFromSteadyPoints(points);
 * const cooler = coolerFromSteadyPoints([{ powerW: 90, temperatureC: 60, ambientC: 24 }]);
 * const held = steadyStateAtFrequency(cooler, curve, { frequencyMHz: 3600, ambientC: 24 });
 * requireValue(held.temperatureC); // => 61.5 within 1.5
 * held.loopGainRatio < 0.8; // => true
 */
export function steadyStateAtFrequency(
  cooler: CoolerModel,
  curve: PowerCurve,
  scenario: HeldFrequencyScenario,
): SteadyStateAtFrequency {
  const caller = 'steadyStateAtFrequency';
  requireModel(cooler, caller, 'cooler');
  requireKind(curve, 'power-curve', {
    caller,
    argument: 'curve',
    remedy: 'make one with fitPowerCurve or curveFromSteadyPoints',
  });
  requireKnownNames(scenario, SCENARIO_NAMES, { caller, argument: 'scenario' });
  const { frequencyMHz, ambientC } = scenario;
  const argument = 'scenario.frequencyMHz';
  requireNumber(frequencyMHz, { caller, argument, remedy: 'write 4.2 GHz as 4200' }, { above: 100 });
  requireAmbient(ambientC, caller);
  const enclosure = settleEnclosure(scenario.enclosure, caller);
  const { drawCount, seed } = CAP_DEFAULTS;
  const [draws] = drawSteady(
    [cooler],
    { ambientC, drawCount, seed, ...(enclosure === undefined ? {} : { enclosure }) },
    caller,
  );
  const table = powerAtFrequency(curve, frequencyMHz, { caller, argument });
  const central = centralState(draws, exactLaw(curve, frequencyMHz));
  if (!(central.loopGainRatio < MOST_LOOP_GAIN_RATIO))
    throw nearRunaway(caller, central.loopGainRatio, `with ${frequencyMHz} MHz held`);
  const { powersW, temperaturesC } = solveDemand(draws, table);
  const extrapolated = liesOutside(central.powerW, cooler.testedRange.powerW);
  return {
    temperatureC: spreadAbout(central.temperatureC, temperaturesC, extrapolated),
    powerW: spreadAbout(central.powerW, powersW, extrapolated),
    loopGainRatio: central.loopGainRatio,
  };
}

/** The curve itself: slower than its table, and exact. */
function exactLaw(curve: PowerCurve, frequencyMHz: number): PowerOfTemperature {
  const powerW = powerFunction(curve);
  return {
    power: (temperatureC) => powerW(frequencyMHz, temperatureC),
    slope(temperatureC) {
      const slope = leakageSlopeWPerK(curve, { frequencyMHz, temperatureC });
      return slope.kind === 'estimated' ? slope.value : 0; // a form without temperature has no such loop
    },
  };
}

/** The state of the representative draw: means of everything drawn. */
function centralState(
  draws: SteadyDraws,
  law: PowerOfTemperature,
): { readonly powerW: number; readonly temperatureC: number; readonly loopGainRatio: number } {
  const { intakeC, dieRiseK, riseOrder, enclosureK } = meansOf(draws);
  const one: SteadyDraws = {
    ...draws,
    count: 1,
    intakeC: Float64Array.of(intakeC),
    dieRiseK: Float64Array.of(dieRiseK),
    riseOrder: Float64Array.of(riseOrder),
    riseOrderRange: [riseOrder, riseOrder],
    enclosureRiseK: Float64Array.of(enclosureK),
  };
  const powerW = lowestFixedPoint(one, 0, law);
  const endless = Number.POSITIVE_INFINITY;
  if (powerW === endless) return { powerW, temperatureC: endless, loopGainRatio: endless };
  const temperatureC = temperatureOf(one, 0, powerW);
  const loopGainRatio = law.slope(temperatureC) * slopeAt(one, 0, powerW, temperatureC);
  return { powerW, temperatureC, loopGainRatio };
}

/** Draws about a central value; those without a steady state count as endless. */
function spreadAbout(value: number, draws: Float64Array, extrapolated: boolean): Estimate {
  const finite = draws.filter(Number.isFinite);
  const mean = finite.reduce((sum, draw) => sum + draw, 0) / finite.length;
  const squares = finite.reduce((sum, draw) => sum + (draw - mean) ** 2, 0);
  const high = quantileOf(draws, 0.975);
  if (!Number.isFinite(high)) return { kind: 'unavailable', reason: 'not-identifiable', value };
  return {
    kind: 'estimated',
    value,
    standardError: Math.sqrt(squares / Math.max(1, finite.length - 1)),
    interval95: [quantileOf(draws, 0.025), high],
    extrapolated,
  };
}
