import { requireKind } from '../errors.js';
import type { Estimate, EstimatedNumber } from '../numerics/estimate.js';
import {
  frequencyAt,
  frequencyCovariance,
  frequencyFunction,
  type PowerAndTemperature,
  powerDependenceKnown,
  slopes,
} from '../power/frequency-at.js';
import type { PowerCurve } from '../power/power-curve.js';
import type { CoolerModel } from '../thermal/cooler-model.js';
import { requireModel } from '../thermal/require-model.js';
import { capAtConfidence } from './cap-at-confidence.js';
import { capCautions, provisionalBecause } from './cap-cautions.js';
import type { CapChoice, CapScenario, SettledScenario } from './cap-choice.js';
import { capCost } from './cap-cost.js';
import { frequencyWithSpread, fromCurveAndDraws, standardErrorOfSum } from './cap-frequency.js';
import { highestPowerLogged, liesOutside, requireReach } from './cap-reach.js';
import { summariseCap } from './cap-summary.js';
import { settleScenario } from './settle-scenario.js';
import { drawSteady, type SteadyDraws, slopeAt, temperaturesAt } from './steady-draws.js';
import { spreadOf, temperatureAgainstCap } from './temperature-against-cap.js';

const NEIGHBOUR_STEPS = [-2, -1, 0, 1, 2] as const;

const notIdentifiable: Estimate = { kind: 'unavailable', reason: 'not-identifiable' };

/**
 * The highest sustained power cap that keeps a processor under its temperature limit with a stated confidence.
 *
 * At a power P the steady temperature is T = ambient + enclosure rise + R(P)·P with R(P) = R·(P/P_ref)^−q. For each
 * quasi-random draw of (R, q, ambient, rise) the largest power that holds the limit is
 * P_ref·((limit − ambient − rise)/(R·P_ref))^(1/(1−q)), or the root of the same equation where the rise scales with
 * power. The cap at confidence c is the (1 − c) quantile of these powers [JCGM101, ch. 5 to 7], rounded down to the
 * settable step and never above the highest cap: `maxCapW`, else the maker's default cap, else the highest power logged
 * with this cooler or, by the curve, with this processor.
 *
 * Assumes a cooler with constant fan behaviour, power held at the cap by the processor's governor (so that leakage
 * costs frequency, not temperature), independent room, enclosure and cooler. The processor is taken to hold itself
 * at the same limit where the default cap would pass it. With `limitAppliesTo: 'peak'` the limit on the mean is
 * lower by `cooler.noise.peakAboveMeanK`. Draws of the resistance follow Student's t and are truncated at positive
 * values; draws of the exponent are clipped to [0, 0.25]. The same input gives the same answer to the last digit.
 *
 * @param cooler - a fitted cooler; its resistance must be known
 * @param curve - the power curve of the same processor; `undefined` where no log holds a frequency: the cap is the
 * same, frequency and cost are unavailable, and a caution says what to log
 * @param scenario - limit and room air in degrees Celsius, powers in W, rises in K
 * @throws ArgumentError naming the option at fault
 * @throws NumericalError if the cooler's data cannot carry a cap, also because it would lie beyond four times the
 *   powers logged or below a quarter of them; or if no cap holds the limit: by how much, and the nearest ways out
 * @example
 * const points = [
 *   { powerW: 60, temperatureC: 52.1, frequencyMHz: 3180 },
 *   { powerW: 80, temperatureC: 61.9, frequencyMHz: 3450 },
 *   { powerW: 100, temperatureC: 72.2, frequencyMHz: 3650 },
 * ];
 * const cooler = coolerFromSteadyPoints(points);
 * const curve = curveFromSteadyPoints(points);
 * const choice = chooseCap(cooler, curve, { limitC: 85, ambientC: { low: 22, high: 28 }, enclosure: { riseK: 9 } });
 * choice.bindingConstraint; // => 'temperature'
 * chooseCap(cooler, curve, { limitC: 20, ambientC: 25 }); // => throws /above the room air of 25 °C/
 */
export function chooseCap(
  cooler: CoolerModel,
  curve: PowerCurve | undefined,
  scenario: CapScenario,
): CapChoice {
  const caller = 'chooseCap';
  requireModel(cooler, caller, 'cooler');
  if (curve !== undefined)
    requireKind(curve, 'power-curve', {
      caller,
      argument: 'curve',
      remedy:
        'make one with fitPowerCurve or curveFromSteadyPoints, or give undefined where no frequency was logged',
    });
  const settled = settleScenario(scenario, caller);
  const draws = drawSteady(cooler, settled, caller);
  const meanLimitC =
    settled.limitC - (settled.limitAppliesTo === 'peak' ? Math.max(0, cooler.noise.peakAboveMeanK) : 0);
  const cap = capAtConfidence({
    cooler,
    draws,
    scenario: settled,
    meanLimitC,
    highestLoggedW: highestPowerLogged(cooler, curve),
    caller,
  });
  const { powerCapW } = cap;
  requireReach(cooler, powerCapW, caller);

  const temperaturesC = new Float64Array(draws.count);
  temperaturesAt(draws, powerCapW, temperaturesC);
  const spread = spreadOf(temperaturesC.slice(), draws.count, settled.confidence);
  const steadyTemperatureC: EstimatedNumber = {
    kind: 'estimated',
    value: spread.meanC,
    standardError: spread.standardDeviationK,
    interval95: [spread.lowC, spread.highC],
    extrapolated: liesOutside(powerCapW, cooler.testedRange.powerW),
  };
  const atCap: PowerAndTemperature = { powerW: powerCapW, temperatureC: spread.meanC };
  const frequencyMHz =
    curve === undefined
      ? notIdentifiable
      : frequencyWithSpread(
          curve,
          atCap,
          Math.abs(slopes(curve, atCap).perTemperature) * spread.standardDeviationK,
        );
  const extrapolated =
    liesOutside(powerCapW, cooler.testedRange.powerW) ||
    (curve !== undefined && liesOutside(powerCapW, curve.testedRange.powerW)) ||
    (frequencyMHz.kind === 'estimated' && frequencyMHz.extrapolated === true);
  const cost =
    settled.defaultCapW === undefined
      ? undefined
      : capCost({
          curve,
          draws,
          defaultCapW: settled.defaultCapW,
          meanLimitC,
          powersAtLimitW: cap.powersAtLimitW,
          atCap,
          temperaturesAtCapC: temperaturesC,
        });
  const choice: Omit<CapChoice, 'summary'> = {
    kind: 'cap-choice',
    cooler: cooler.cooler ?? cooler.label,
    ...optionalProcessor(cooler, curve),
    powerCapW,
    unroundedCapW: cap.unroundedCapW,
    steadyTemperatureC,
    frequencyMHz,
    bindingConstraint: cap.bindingConstraint,
    sensitivities: {
      capPerLimitWPerK: cap.capPerLimitWPerK,
      capPerAmbientWPerK: -cap.capPerLimitWPerK, // only their difference enters the temperature
      ...slopesAlongCooler(curve, draws, atCap, temperaturesC, extrapolated),
    },
    ...(cost === undefined ? {} : { cost }),
    neighbours: neighbours(cap.powersAtLimitW, powerCapW, settled.stepW),
    temperatureAgainstCap: temperatureAgainstCap(draws, {
      powerCapW,
      rangeW: pictureRange(cooler, settled, powerCapW),
      confidence: settled.confidence,
      frequencyMHz: (powerW, temperatureC) =>
        curve === undefined ? undefined : frequencyAt(curve, { powerW, temperatureC }).value,
    }),
    scenario: settled,
    extrapolated,
    cautions: capCautions(cooler, curve, settled, {
      powerCapW,
      frequencyMHz,
      bindingConstraint: cap.bindingConstraint,
    }),
  };
  return { ...choice, summary: summariseCap(choice, provisionalBecause(cooler, curve, powerCapW)) };
}

function optionalProcessor(
  cooler: CoolerModel,
  curve: PowerCurve | undefined,
): { readonly processor?: string } {
  const processor = cooler.processor ?? curve?.processor;
  return processor === undefined ? {} : { processor };
}

/** What one more watt changes in temperature and, along the cooler's own line, in frequency. */
function slopesAlongCooler(
  curve: PowerCurve | undefined,
  draws: SteadyDraws,
  atCap: PowerAndTemperature,
  temperaturesC: Float64Array,
  extrapolated: boolean,
): Pick<CapChoice['sensitivities'], 'temperaturePerPowerKPerW' | 'frequencyPerPowerMHzPerW'> {
  let sum = 0;
  let squares = 0;
  for (let i = 0; i < draws.count; i++) {
    const slope = slopeAt(draws, i, atCap.powerW, temperaturesC[i]!);
    sum += slope;
    squares += slope * slope;
  }
  const temperaturePerPowerKPerW = sum / draws.count;
  const spreadKPerW = Math.sqrt(Math.max(0, squares / draws.count - temperaturePerPowerKPerW ** 2));
  if (curve === undefined || !powerDependenceKnown(curve))
    return { temperaturePerPowerKPerW, frequencyPerPowerMHzPerW: notIdentifiable };
  const stepW = 0.01 * atCap.powerW;
  const along = (changeW: number): PowerAndTemperature => ({
    powerW: atCap.powerW + changeW,
    temperatureC: atCap.temperatureC + changeW * temperaturePerPowerKPerW,
  });
  const ends = [along(stepW), along(-stepW)] as const;
  const frequency = frequencyFunction(curve);
  const [highMHz, lowMHz] = ends.map(({ powerW, temperatureC }) => frequency(powerW, temperatureC));
  return {
    temperaturePerPowerKPerW,
    frequencyPerPowerMHzPerW: fromCurveAndDraws(
      curve,
      (highMHz! - lowMHz!) / (2 * stepW),
      {
        ofCurve: standardErrorOfSum([1, -1], frequencyCovariance(curve, ends)) / (2 * stepW),
        ofDraws: Math.abs(slopes(curve, atCap).perTemperature) * spreadKPerW,
      },
      extrapolated,
    ),
  };
}

function neighbours(powersAtLimitW: Float64Array, powerCapW: number, stepW: number): CapChoice['neighbours'] {
  return NEIGHBOUR_STEPS.map((steps) => Number((powerCapW + steps * stepW).toPrecision(12)))
    .filter((capW) => capW > 0)
    .map((capW) => ({
      powerCapW: capW,
      chanceOfPassingLimit: countBelow(powersAtLimitW, capW - 1e-9) / powersAtLimitW.length,
    }));
}

function countBelow(values: Float64Array, bound: number): number {
  let count = 0;
  for (let i = 0; i < values.length; i++) if (values[i]! < bound) count++;
  return count;
}

/** From half the cap, or the lowest power logged, to a quarter above the cap or just beyond the default cap. */
function pictureRange(
  cooler: CoolerModel,
  scenario: SettledScenario,
  powerCapW: number,
): readonly [number, number] {
  const [testedLowW, testedHighW] = cooler.testedRange.powerW;
  const within = (powerW: number) => Math.min(2 * powerCapW, Math.max(0.25 * powerCapW, powerW));
  return [
    Math.min(0.5 * powerCapW, within(testedLowW)),
    Math.max(1.25 * powerCapW, within(testedHighW), within(1.05 * (scenario.defaultCapW ?? 0))),
  ];
}
