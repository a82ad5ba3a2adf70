import { ArgumentError, type KnownNames, requireKnownNames, requireNumber } from '../../errors.js';
import type { Estimate } from '../../numerics/estimate.js';
import { increasingRoot } from '../../numerics/increasing-root.js';
import { quantileOf } from '../../numerics/order-statistic.js';
import { coolerDraws, estimateFromDraws } from '../cooler-draws.js';
import type { CoolerModel } from '../cooler-model.js';
import { type CoolerNumbers, coolerNumbers, riseAfter, steadyRise } from '../cooler-numbers.js';
import {
  BURST_LIMIT_NAMES,
  type BurstLimit,
  isExtrapolated,
  requireConfidence,
  requireHeadroom,
  startPowersOf,
} from './burst-scenario.js';

/** How long a burst lasts, from which state, and the limit. */
export interface BurstPowerScenario extends BurstLimit {
  /** How long the power is held, s. */
  readonly durationS: number;
  /** Earlier power in whose steady state the burst starts, W. Default 0: everything at the temperature of the air. */
  readonly startPowerW?: number;
  /** Confidence of `atConfidenceW`, 0.5 to 0.99. Default 0.95. */
  readonly confidence?: number;
}

const SCENARIO_NAMES: KnownNames<BurstPowerScenario> = {
  ...BURST_LIMIT_NAMES,
  durationS: true,
  startPowerW: true,
  confidence: true,
};

/** The highest power for a burst. */
export interface BurstPower {
  /** At which the limit is reached at the end of the burst, W. */
  readonly powerW: Estimate;
  /** With the wanted confidence the limit is not passed at this power, W. */
  readonly atConfidenceW: number;
  readonly confidence: number;
  /** What could be held for ever, W. */
  readonly sustainedPowerW: Estimate;
}

/**
 * The highest power that can be held for a given time before a temperature limit is reached.
 *
 * Solves T_air + Σₖ rₖ (P + (P₀ − P) e^(−t/τₖ)) + convection bend = limit at the end of the burst for P; for one stage from
 * rest P = ΔT / (R (1 − e^(−t/τ))) [Bergman2011, ch. 5]. Intervals from draws out of the model's covariance, always the same
 * ones. An enclosure whose rise scales with power is taken as warmed for the burst already, which is on the safe side.
 *
 * Many times the fitted powers the convection's power law means nothing any more: `extrapolated` marks what was not logged.
 *
 * Short bursts can ask for more power than the supply, the voltage regulators or the processor's own limits allow: those
 * of their makers hold, whatever is said here.
 *
 * @param model - a model with stages, from `fitCooler`
 * @param scenario - duration, limit, air, start; see `BurstPowerScenario`
 * @throws ArgumentError if the model has no stages, the limit is not above the air or is passed at the start already, or a
 * value is out of its domain
 * @example
 * // One stage of 0.5 K/W and 60 s, held for 60 s: 40 K / (0.5 K/W · (1 − 1/e))
 * const timeS = Array.from({ length: 600 }, (_, i) => i);
 * const run = makeRun(
 *   { timeS, powerW: timeS.map((t) => (t === 0 ? 0 : 100)), temperatureC: timeS.map((t) => 22 + 50 * (1 - Math.exp(-t / 60))) },
 *   { label: 'step', conditions: { ambientC: 22 } },
 * );
 * const model = fitCooler(run, { powerExponent: 0 });
 * requireValue(burstPower(model, { durationS: 60, limitC: 62, ambientC: 22 }).powerW); // => 126.558 within 0.01
 */
export function burstPower(model: CoolerModel, scenario: BurstPowerScenario): BurstPower {
  const caller = 'burstPower';
  const cooler = coolerNumbers(model, caller);
  requireKnownNames(scenario, SCENARIO_NAMES, { caller, argument: 'scenario' });
  const { durationS, startPowerW = 0, confidence = 0.95 } = scenario;
  requireNumber(durationS, { caller, argument: 'scenario.durationS' }, { above: 0 });
  requireConfidence(confidence, caller);
  const startPowersW = startPowersOf(startPowerW, cooler.timeConstantsS.length, caller);
  const { headroomAt } = requireHeadroom(model, scenario, caller, startPowerW);
  const startK = steadyRise(cooler, startPowerW);
  if (startK >= headroomAt(startPowerW)) {
    throw new ArgumentError({
      caller,
      argument: 'scenario.startPowerW',
      expected: `a power whose steady temperature lies below the limit of ${scenario.limitC} °C`,
      received: startPowerW,
      remedy: 'start from a lower power, or see burstSchedule for how long to pause',
    });
  }
  /** Of both a burst and a load for ever, the power at which the rise fills the headroom. */
  const powerAt = (riseAt: (powerW: number) => number): number => {
    const aboveK = (powerW: number): number => riseAt(powerW) - headroomAt(powerW);
    let high = Math.max(cooler.atPowerW, startPowerW);
    while (aboveK(high) < 0) high *= 2;
    return increasingRoot(aboveK, 0, high);
  };
  const burst = (numbers: CoolerNumbers): number =>
    powerAt((powerW) => riseAfter(numbers, powerW, startPowersW, durationS));
  const sustained = (numbers: CoolerNumbers): number => powerAt((powerW) => steadyRise(numbers, powerW));

  const draws = coolerDraws(model, cooler);
  const powersW = Float64Array.from(draws, burst);
  const powerW = burst(cooler);
  const sustainedPowerW = sustained(cooler);
  return {
    powerW: estimateFromDraws(powerW, powersW, isExtrapolated(model, powerW)),
    atConfidenceW: Math.min(powerW, quantileOf(powersW, 1 - confidence)),
    confidence,
    sustainedPowerW: estimateFromDraws(
      sustainedPowerW,
      draws.map(sustained),
      isExtrapolated(model, sustainedPowerW),
    ),
  };
}
