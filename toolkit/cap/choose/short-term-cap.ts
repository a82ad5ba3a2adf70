import { NumericalError } from '../../errors.js';
import { unavailable } from '../../numerics/estimates.js';
import { frequencyEstimate, powerDependenceKnown, slopes } from '../../power/predict/frequency-at.js';
import { limitCap } from '../draws/limit-cap.js';
import {
  momentWeights,
  type PowerCourse,
  stageShapes,
  stageTemperatures,
} from '../draws/stage-temperatures.js';
import { spreadOf } from '../draws/temperature-against-cap.js';
import type { BestSetting } from '../setting/best-at-speed.js';
import { liesOutside } from '../setting/cap-reach.js';
import { fanPowerOf } from '../setting/fan-response.js';
import type { PreparedCap } from '../setting/prepared-cap.js';
import { withSpread } from '../setting/quantity-of-curve.js';
import { stepDown } from '../setting/step-down.js';
import { packagePowerWithin } from '../setting/supply-power.js';
import type { CapChoice, ShortTermCap } from './cap-choice.js';

/**
 * The cap for short stretches that goes with a sustained one: the highest power that may be held for the time window
 * before the limit is reached, with the confidence asked for, from a start in the steady state of an earlier power.
 *
 * For one stage P = (limit − air − P₀·R·e^(−t/τ)) / (R·(1 − e^(−t/τ))) [Bergman2011, ch. 5]; see `stageTemperatures` for
 * several. After the window the sustained cap takes over: the fast stages fall and the slow ones settle at or below the
 * limit, so the end of the window is the hottest moment. An enclosure whose rise scales with power is taken as warmed
 * for the sustained cap.
 *
 * @throws NumericalError where not even the sustained cap can be held from that start
 */
export function shortTermCap(prepared: PreparedCap, best: BestSetting): ShortTermCap | undefined {
  const { scenario, cooler, meanLimitC, caller } = prepared;
  const { shortTerm } = scenario;
  if (shortTerm === undefined) return undefined;
  const { powerCapW: sustainedCapW, fanSpeedRpm, voltageOffsetMv } = best.setting;
  const { windowS, startPowerW } = shortTerm;
  const draws = stageTemperatures(prepared.thermalAt(fanSpeedRpm).steady[0], stageShapes(cooler, caller), {
    powersUnder: (powerCapW) => Float64Array.of(powerCapW, startPowerW),
    enclosurePowerW: () => sustainedCapW,
    mostW: Number.POSITIVE_INFINITY,
    weightsOf: (shape) => [
      momentWeights(shape, (timeConstantS) => {
        const left = Math.exp(-windowS / timeConstantS);
        return Float64Array.of(1 - left, left);
      }),
    ],
    counts: 'highest',
  } satisfies PowerCourse);
  const { powerW: unroundedCapW } = limitCap(draws, meanLimitC, scenario.confidence);
  const bound = shortTermBound(prepared, fanSpeedRpm, unroundedCapW);
  const powerCapW = stepDown(bound.powerW, scenario.stepW);
  if (powerCapW < sustainedCapW - 1e-9 && bound.constraint === 'temperature')
    throw new NumericalError(
      `${caller}: from the steady state of ${startPowerW} W not even the sustained cap of ${sustainedCapW} W can be held for ${windowS} s: the start is too warm by itself; ` +
        `give a lower \`scenario.shortTerm.startPowerW\``,
    );
  const temperaturesC = new Float64Array(draws.count);
  draws.temperaturesAt(powerCapW, temperaturesC);
  const spread = spreadOf(temperaturesC, draws.count, scenario.confidence);
  const curve = prepared.curvesAt(voltageOffsetMv)[0];
  const at = { powerW: powerCapW, temperatureC: spread.meanC };
  const extrapolated = liesOutside(powerCapW, cooler.testedRange.powerW);
  return {
    powerCapW,
    windowS,
    startPowerW,
    unroundedCapW,
    bindingConstraint: bound.constraint,
    temperatureC: {
      kind: 'estimated',
      value: spread.meanC,
      standardError: spread.standardDeviationK,
      interval95: [spread.lowC, spread.highC],
      extrapolated,
    },
    frequencyMHz:
      curve === undefined || !powerDependenceKnown(curve)
        ? unavailable('not-identifiable')
        : withSpread(
            frequencyEstimate(curve, at),
            Math.abs(slopes(curve, at).perTemperature) * spread.standardDeviationK,
          ),
    extrapolated,
  };
}

function shortTermBound(
  prepared: PreparedCap,
  fanSpeedRpm: number | undefined,
  unroundedCapW: number,
): { readonly powerW: number; readonly constraint: ShortTermCap['bindingConstraint'] } {
  const { scenario, ceiling } = prepared;
  const maxCapW = scenario.shortTerm!.maxCapW;
  const bounds: readonly ReturnType<typeof shortTermBound>[] = [
    { powerW: unroundedCapW, constraint: 'temperature' },
    {
      powerW: packagePowerWithin(scenario.supply, fanPowerOf(scenario.fan, fanSpeedRpm)),
      constraint: 'supply',
    },
    maxCapW === undefined ? ceiling : { powerW: maxCapW, constraint: 'max-cap' },
  ];
  return bounds.reduce((lowest, bound) => (bound.powerW < lowest.powerW ? bound : lowest));
}

/** The pair in words: `for 60 s from 20 W up to 140 W, then 92 W`. */
export function pairInWords({ shortTerm, powerCapW }: Pick<CapChoice, 'shortTerm' | 'powerCapW'>): string {
  if (shortTerm === undefined) return '';
  return `For up to ${shortTerm.windowS} s at a time, from rest at ${shortTerm.startPowerW} W or less, ${shortTerm.powerCapW} W are allowed; then ${powerCapW} W.`;
}
