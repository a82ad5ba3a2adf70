import { ArgumentError } from '../../errors.js';
import { LOWEST_POWER_SHARE } from '../../thermal/convection.js';
import { coolerDraws } from '../../thermal/cooler-draws.js';
import type { CoolerModel } from '../../thermal/cooler-model.js';
import { coolerNumbers } from '../../thermal/cooler-numbers.js';
import { dieRises, type SteadyDraws } from './steady-draws.js';
import { passingByTemperature, type TemperatureDraws } from './temperature-draws.js';

/** Stages of one draw: time constants, fastest first, and shares of the total resistance. */
export interface StageShape {
  readonly timeConstantsS: readonly number[];
  readonly shareFractions: readonly number[];
}

/** The fitted stages of a cooler, and draws of them from its uncertainty. */
export interface StageShapes {
  readonly central: StageShape;
  readonly draws: readonly StageShape[];
}

/** Making a cooler's draws of stages costs more than using them, and a cooler never changes. */
const keptShapes = new WeakMap<CoolerModel, StageShapes>();

/**
 * A cooler's stages as shares of its total resistance.
 *
 * @throws ArgumentError where it has none
 */
export function stageShapes(cooler: CoolerModel, caller: string): StageShapes {
  const known = keptShapes.get(cooler);
  if (known !== undefined) return known;
  if (cooler.stages.length === 0)
    throw new ArgumentError({
      caller,
      argument: 'cooler',
      expected: 'a cooler with stages, where the scenario gives `dutyCycle` or `shortTerm`',
      received: cooler.label,
      remedy:
        'fit a run with fitCooler that holds a change of power: idle before the load, or cool-down after it',
    });
  const numbers = coolerNumbers(cooler, caller);
  const shapeOf = (of: typeof numbers): StageShape => {
    const total = of.resistancesKPerW.reduce((sum, resistance) => sum + resistance, 0);
    return {
      timeConstantsS: of.timeConstantsS,
      shareFractions: of.resistancesKPerW.map((resistance) => resistance / total),
    };
  };
  const made = { central: shapeOf(numbers), draws: coolerDraws(cooler, numbers).map(shapeOf) };
  keptShapes.set(cooler, made);
  return made;
}

/** Weights of several powers at one moment: in Σ sₖ·xₖ, and in the slowest stage's xₙ. */
export interface MomentWeights {
  readonly all: Float64Array;
  readonly slowest: Float64Array;
}

/** The weights of one moment, from what a stage has made of a unit of each power. */
export function momentWeights(
  { timeConstantsS, shareFractions }: StageShape,
  followed: (timeConstantS: number) => Float64Array,
): MomentWeights {
  let slowest: Float64Array = new Float64Array(0);
  let all: Float64Array = slowest;
  timeConstantsS.forEach((timeConstantS, k) => {
    slowest = followed(timeConstantS);
    if (k === 0) all = new Float64Array(slowest.length);
    for (let j = 0; j < all.length; j++) all[j] += shareFractions[k] * slowest[j];
  });
  return { all, slowest };
}

/** Rise over the intake air at a moment, K; the total resistance is given as rise at the reference power. */
export function riseAtMoment(
  { all, slowest }: MomentWeights,
  powersW: Float64Array,
  law: { readonly dieRiseK: number; readonly riseOrder: number; readonly referencePowerW: number },
): number {
  const { dieRiseK, riseOrder, referencePowerW } = law;
  let sum = 0;
  let x = 0;
  for (let j = 0; j < powersW.length; j++) {
    sum += all[j] * powersW[j];
    x += slowest[j] * powersW[j];
  }
  const bend =
    riseOrder === 1 ? 0 : x * (Math.max(x / referencePowerW, LOWEST_POWER_SHARE) ** (riseOrder - 1) - 1);
  return (dieRiseK * (sum + bend)) / referencePowerW;
}

/** A course of power that depends on a cap, and the moments of it that are asked for. */
export interface PowerCourse {
  /** The powers of its stretches under a cap, W. */
  powersUnder(powerCapW: number): Float64Array;
  /** The power that an enclosure feels, W. */
  enclosurePowerW(powersW: Float64Array): number;
  /** No cap from here on changes it, W. */
  readonly mostW: number;
  /** What one draw's stages have made of the powers, at each moment. */
  weightsOf(shape: StageShape): readonly MomentWeights[];
  /** Whether the highest of the moments counts, or their mean. */
  readonly counts: 'highest' | 'mean';
}

/**
 * Temperatures of a course of power through a cooler's stages: intake + R·(Σ sₖ·xₖ + xₙ·((xₙ/P₀)^(−q) − 1)), the model of
 * `simulateTemperature`.
 *
 * The total resistance, its exponent, room and enclosure are those of the steady draws; each takes its stages, as shares
 * of that total, from one of the cooler's own draws in turn. A lagging sensor is left out, which is on the safe side.
 */
export function stageTemperatures(
  steady: SteadyDraws,
  shapes: StageShapes,
  course: PowerCourse,
): TemperatureDraws {
  const { count, referencePowerW, intakeC, riseOrder, enclosureRiseK } = steady;
  const { riseK, ratio } = dieRises(steady);
  const central = meansOf(steady);
  const centralWeights = course.weightsOf(shapes.central);
  const weights = shapes.draws.slice(0, count).map((shape) => course.weightsOf(shape));
  const temperature = (index: number, powersW: Float64Array): number =>
    intakeC[index] +
    combined(weights[index % weights.length], powersW, course.counts, {
      dieRiseK: riseK[index] * ratio,
      riseOrder: riseOrder[index],
      referencePowerW,
    }) +
    (enclosureRiseK[index] * course.enclosurePowerW(powersW)) / referencePowerW;
  const centralTemperature = (powerCapW: number): number => {
    const powersW = course.powersUnder(powerCapW);
    return (
      central.intakeC +
      combined(centralWeights, powersW, course.counts, { ...central, referencePowerW }) +
      (central.enclosureK * course.enclosurePowerW(powersW)) / referencePowerW
    );
  };
  const restingC = new Float64Array(count);
  const nothing = course.powersUnder(0);
  for (let i = 0; i < count; i++) restingC[i] = temperature(i, nothing);
  const temperaturesAt: TemperatureDraws['temperaturesAt'] = (powerW, temperaturesC, first = count) => {
    const powersW = course.powersUnder(powerW);
    for (let i = 0; i < first; i++) temperaturesC[i] = temperature(i, powersW);
  };
  const { mostW } = course;
  let start = { limitC: Number.NaN, powerW: referencePowerW };
  /** The power at the limit of the representative draw, which is near that of every draw. */
  const startOf = (limitC: number): number => {
    if (limitC !== start.limitC) {
      const restC = centralTemperature(0);
      const powerW = powerAtLimit(centralTemperature, { restC, limitC, mostW, startW: referencePowerW });
      start = { limitC, powerW: Number.isFinite(powerW) && powerW > 0 ? powerW : referencePowerW };
    }
    return start.powerW;
  };
  return {
    count,
    restingC,
    temperaturesAt,
    powerAtLimit: (index, limitC) =>
      powerAtLimit((powerW) => temperature(index, course.powersUnder(powerW)), {
        restC: restingC[index],
        limitC,
        mostW,
        startW: startOf(limitC),
      }),
    passingDraws: (limitC, powerW, places) =>
      passingByTemperature({ count, temperaturesAt }, limitC, powerW, places),
    meanTemperatureC: centralTemperature,
    leastMeanC: centralTemperature,
    slopeAt(index, powerW, temperatureC) {
      const stepW = 1e-3 * powerW;
      return (temperature(index, course.powersUnder(powerW + stepW)) - temperatureC) / stepW;
    },
  };
}

/** Means of the draws: what one representative draw has. */
export function meansOf(draws: SteadyDraws): {
  readonly intakeC: number;
  readonly dieRiseK: number;
  readonly riseOrder: number;
  readonly enclosureK: number;
} {
  const { count, intakeC, riseOrder, enclosureRiseK } = draws;
  const mean = (values: Float64Array): number => values.reduce((sum, value) => sum + value, 0) / count;
  const { riseK, ratio } = dieRises(draws);
  return {
    intakeC: mean(intakeC),
    dieRiseK: mean(riseK.map((value) => value * ratio)),
    riseOrder: mean(riseOrder),
    enclosureK: mean(enclosureRiseK),
  };
}

function combined(
  moments: readonly MomentWeights[],
  powersW: Float64Array,
  counts: PowerCourse['counts'],
  law: Parameters<typeof riseAtMoment>[2],
): number {
  let result = counts === 'mean' ? 0 : Number.NEGATIVE_INFINITY;
  for (const moment of moments) {
    const rise = riseAtMoment(moment, powersW, law);
    result = counts === 'mean' ? result + rise / moments.length : Math.max(result, rise);
  }
  return result;
}

/** Secant steps, kept inside a shrinking bracket: the temperature is nearly a straight line over the power. */
function powerAtLimit(
  temperatureAt: (powerW: number) => number,
  where: { readonly restC: number; readonly limitC: number; readonly mostW: number; readonly startW: number },
): number {
  const { restC, limitC, mostW, startW } = where;
  if (limitC <= restC) return 0;
  if (Number.isFinite(mostW) && temperatureAt(mostW) <= limitC) return Number.POSITIVE_INFINITY;
  let low = 0;
  let lowC = restC;
  let high = Number.POSITIVE_INFINITY;
  let highC = Number.POSITIVE_INFINITY;
  let powerW = Math.min(startW, mostW);
  for (let step = 0; step < 80; step++) {
    const atC = temperatureAt(powerW);
    if (Math.abs(atC - limitC) < 1e-9) return powerW;
    if (atC > limitC) {
      high = powerW;
      highC = atC;
    } else {
      low = powerW;
      lowC = atC;
    }
    if (high - low < 1e-10 * high) return low;
    if (high === Number.POSITIVE_INFINITY)
      // Outward along the chord from rest, and a little beyond, so that the bracket closes.
      powerW = Math.min(mostW, 1.02 * powerW * Math.max(1, (limitC - restC) / Math.max(atC - restC, 1e-9)));
    else if (step % 4 === 3)
      powerW = (low + high) / 2; // an end that never moves is helped on now and then
    else powerW = low + ((high - low) * (limitC - lowC)) / (highC - lowC);
  }
  return low;
}
