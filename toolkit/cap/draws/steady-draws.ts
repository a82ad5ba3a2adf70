import { NumericalError } from '../../errors.js';
import { studentTQuantile } from '../../numerics/distributions.js';
import { createWorkspace } from '../../numerics/workspace.js';
import type { CoolerModel, ResistanceLaw } from '../../thermal/cooler-model.js';
import type { SettledScenario, UncertainInput } from '../scenario/cap-scenario.js';
import { addDraws } from '../scenario/uncertain-input.js';
import { type DieDraws, dieDraws, picked, positiveEverywhere } from './die-draws.js';
import { type StandardDraws, standardDraws } from './standard-draws.js';

/**
 * Draws of everything the steady temperature depends on:
 * T(P) = intake + a·x^m·e^(r + s·z) + b·x with x = P / reference power, a the rise of the die and b that of the enclosure
 * at the reference power, m = 1 − exponent of the resistance law, and r + s·z what the fan's speed changes in ln a.
 */
export interface SteadyDraws {
  readonly count: number;
  readonly referencePowerW: number;
  /** Room air and what of the enclosure's rise does not depend on power, degrees Celsius. */
  readonly intakeC: Float64Array;
  /** a: thermal resistance at the fan speed of the cooler's runs times reference power, K. */
  readonly dieRiseK: Float64Array;
  /** m, between 0.75 and 1 for the convection laws known. */
  readonly riseOrder: Float64Array;
  /** The least and the greatest m. */
  readonly riseOrderRange: readonly [lowest: number, highest: number];
  /** b, K; 0 where the enclosure's rise does not scale with power. */
  readonly enclosureRiseK: Float64Array;
  readonly fan: FanDraws;
  /** The least of each of these, or numbers below them. */
  readonly least: {
    readonly intakeC: number;
    readonly dieRiseK: number;
    readonly enclosureRiseK: number;
  };
  /** Means of all of these; those of m and z are weighted with a. */
  readonly means: {
    readonly intakeC: number;
    readonly dieRiseK: number;
    readonly riseOrder: number;
    readonly enclosureRiseK: number;
    readonly fanScore: number;
  };
}

/** What the fan's speed does to the die's rise; nothing at the speed of the cooler's runs. */
export interface FanDraws {
  /** r: logarithm of the resistance over that at the speed of the cooler's runs. */
  readonly logRatio: number;
  /** s: what the fan curve leaves open, relative. */
  readonly relativeStandardError: number;
  /** z: normal scores; 0 where no other speed is to be chosen. */
  readonly scores: Float64Array;
  /** The least and the greatest z, or numbers beyond them. */
  readonly scoreRange: readonly [lowest: number, highest: number];
}

/** What of a scenario is drawn. */
export type DrawnScenario = Pick<SettledScenario, 'ambientC' | 'enclosure' | 'drawCount' | 'seed' | 'fan'>;

/**
 * Draws a cooler's resistance and exponent, the room air and the enclosure's rise.
 *
 * Resistance and exponent follow a joint Student t with the model's degrees of freedom and correlation; an assumed
 * exponent is a normal prior. Draws with a resistance that is not positive are left out (a truncated
 * distribution); exponents are clipped to [0, 0.25], widened to the model's own exponent where that lies outside;
 * a rise below 0 counts as 0.
 *
 * @param coolers - one a load, all on the same scores: one mount, one sensor, one room; a draw is left out of all
 * @returns one set a load, of equal length; loads on one cooler share theirs
 * @throws NumericalError where a resistance is unavailable or its 95 % interval reaches 0
 */
export function drawSteady(
  coolers: readonly CoolerModel[],
  scenario: DrawnScenario,
  caller: string,
): readonly SteadyDraws[] {
  const distinct = [...new Set(coolers)];
  const standards = distinct.map((cooler) => {
    requireCarryingResistance(cooler, caller);
    return standardDraws({
      count: scenario.drawCount,
      seed: scenario.seed,
      degreesOfFreedom: cooler.resistanceLaw.degreesOfFreedom,
      exponentIsFitted: cooler.resistanceLaw.exponentSource === 'fitted',
      withFan: scenario.fan !== undefined,
    });
  });
  const { sets, places } = positiveEverywhere(
    distinct.map(({ resistanceLaw }, c) => dieDraws(resistanceLaw, standards[c])),
  );
  const drawn = distinct.map(({ resistanceLaw }, c) => {
    const keptOf = (draws: InputDraws): InputDraws =>
      places === undefined ? draws : summarised(picked(draws.values, places));
    return steadyDraws(
      resistanceLaw,
      sets[c],
      keptOf(intakeDraws(scenario, standards[c])),
      keptOf(scalingRises(scenario, standards[c], resistanceLaw.atPowerW)),
    );
  });
  return coolers.map((cooler) => drawn[distinct.indexOf(cooler)]);
}

function steadyDraws(
  { atPowerW }: ResistanceLaw,
  { dieRiseK, riseOrder, riseOrderRange, leastRiseK, fan, means }: DieDraws,
  intake: InputDraws,
  enclosure: InputDraws,
): SteadyDraws {
  return {
    count: dieRiseK.length,
    referencePowerW: atPowerW,
    intakeC: intake.values,
    dieRiseK,
    riseOrder,
    riseOrderRange,
    enclosureRiseK: enclosure.values,
    fan: { logRatio: 0, relativeStandardError: 0, scores: fan.scores, scoreRange: fan.range },
    least: { intakeC: intake.least, dieRiseK: leastRiseK, enclosureRiseK: enclosure.least },
    means: { ...means, intakeC: intake.mean, enclosureRiseK: enclosure.mean },
  };
}

/** Draws of an input, the least of them and their mean. */
interface InputDraws {
  readonly values: Float64Array;
  readonly least: number;
  readonly mean: number;
}

/** The last draws of one input of a scenario: a page drags one at a time, and the others stay. */
type LastDraws = WeakMap<StandardDraws, { readonly asked: string; readonly draws: InputDraws }>;

function lastDraws(
  last: LastDraws,
  standard: StandardDraws,
  asked: readonly unknown[],
  make: (values: Float64Array) => void,
): InputDraws {
  const key = JSON.stringify(asked);
  const known = last.get(standard);
  if (known?.asked === key) return known.draws;
  const values = new Float64Array(standard.count);
  make(values);
  const draws = summarised(values);
  last.set(standard, { asked: key, draws });
  return draws;
}

const lastIntakes: LastDraws = new WeakMap();
const lastRises: LastDraws = new WeakMap();

/** Room air and what of the enclosure's rise does not depend on power, degrees Celsius. */
function intakeDraws({ ambientC, enclosure }: DrawnScenario, standard: StandardDraws): InputDraws {
  const riseK = enclosure?.atPowerW === undefined ? enclosure?.riseK : undefined;
  return lastDraws(lastIntakes, standard, [ambientC, riseK], (intakeC) => {
    addDraws(ambientC, standard.ambient, intakeC);
    if (riseK !== undefined) addRises(riseK, standard, 1, intakeC);
  });
}

/** What of the enclosure's rise scales with power, at the reference power, K. */
function scalingRises(
  { enclosure }: DrawnScenario,
  standard: StandardDraws,
  referencePowerW: number,
): InputDraws {
  const { riseK = 0, atPowerW } = enclosure ?? {};
  return lastDraws(lastRises, standard, [riseK, atPowerW, referencePowerW], (risesK) => {
    if (atPowerW !== undefined) addRises(riseK, standard, referencePowerW / atPowerW, risesK);
  });
}

const workspace = createWorkspace();

/** A rise below 0 counts as 0. */
function addRises(riseK: UncertainInput, standard: StandardDraws, scale: number, sums: Float64Array): void {
  const rises = workspace.take(standard.count).fill(0);
  addDraws(riseK, standard.enclosure, rises);
  for (let i = 0; i < rises.length; i++) sums[i] += Math.max(0, rises[i]) * scale;
  workspace.release();
}

function summarised(values: Float64Array): InputDraws {
  let least = Number.POSITIVE_INFINITY;
  let sum = 0;
  for (let i = 0; i < values.length; i++) {
    least = Math.min(least, values[i]);
    sum += values[i];
  }
  return { values, least, mean: sum / values.length };
}

/** The same draws at another fan speed. */
export function atOtherFanSpeed(
  draws: SteadyDraws,
  ratio: number,
  relativeStandardError: number,
): SteadyDraws {
  return { ...draws, fan: { ...draws.fan, logRatio: Math.log(ratio), relativeStandardError } };
}

function requireCarryingResistance(cooler: CoolerModel, caller: string): void {
  const law = cooler.resistanceLaw;
  if (cooler.thermalResistanceKPerW.kind === 'unavailable')
    throw new NumericalError(
      `${caller}: the thermal resistance of '${cooler.label}' is not known (${inWords[cooler.thermalResistanceKPerW.reason]}), so no cap can be given; ` +
        'log the room air beside the run, or runs at two caps, and fit the cooler again',
    );
  const { thermalResistanceKPerW, resistanceStandardErrorKPerW, degreesOfFreedom, atPowerW } = law;
  const usable =
    [thermalResistanceKPerW, degreesOfFreedom, atPowerW].every((value) => value > 0) &&
    Number.isFinite(thermalResistanceKPerW + atPowerW + law.powerExponent) &&
    Number.isFinite(resistanceStandardErrorKPerW + law.exponentStandardError) &&
    resistanceStandardErrorKPerW >= 0 &&
    law.exponentStandardError >= 0 &&
    Math.abs(law.correlation) <= 1;
  if (!usable)
    throw new NumericalError(
      `${caller}: the resistance law of '${cooler.label}' is not usable: resistance, power and degrees of freedom must be positive, standard errors 0 or more, the correlation within −1 and 1`,
    );
  const halfWidth = studentTQuantile(0.975, degreesOfFreedom) * resistanceStandardErrorKPerW;
  if (halfWidth >= thermalResistanceKPerW)
    throw new NumericalError(
      `${caller}: the thermal resistance of '${cooler.label}' is ${thermalResistanceKPerW.toPrecision(3)} ± ${halfWidth.toPrecision(2)} K/W (95 %), which includes 0, so no cap can be given; ` +
        'log longer runs or further caps and fit the cooler again',
    );
}

const inWords = {
  fixed: 'it was fixed, without an uncertainty',
  'at-bound': 'it sits at its bound',
  'not-identifiable': 'the data do not determine it',
  'too-few-points': 'too few independent points',
} as const;

/** r + s·z of one draw. */
function fanExponent(fan: FanDraws, index: number): number {
  return fan.logRatio + fan.relativeStandardError * fan.scores[index];
}

/**
 * The rise of the die at the reference power at the fan speed of the draws, K: a·e^(r + s·z) of each draw, as rises and a
 * ratio common to all, so that what is certain takes no exponential a draw.
 */
export function dieRises({ count, dieRiseK, fan }: SteadyDraws): {
  readonly riseK: Float64Array;
  readonly ratio: number;
} {
  const { logRatio, relativeStandardError, scores } = fan;
  if (relativeStandardError === 0) return { riseK: dieRiseK, ratio: Math.exp(logRatio) };
  const riseK = new Float64Array(count);
  for (let i = 0; i < count; i++)
    riseK[i] = dieRiseK[i] * Math.exp(logRatio + relativeStandardError * scores[i]);
  return { riseK, ratio: 1 };
}

/**
 * What the powers at any limit are at most multiplied with when the fan goes from the speed of some draws to the slower
 * one of others. A die's rise of a·xᵐ that grows by a factor g at least, leaves a power of g^(−1/m) at most; where the
 * enclosure's rise scales with power as well, all that is said is that it does not grow.
 */
export function mostPowerRatio(faster: SteadyDraws, slower: SteadyDraws): number {
  if (faster.means.enclosureRiseK > 0) return 1;
  const spread = slower.fan.relativeStandardError - faster.fan.relativeStandardError;
  const leastExponent =
    slower.fan.logRatio - faster.fan.logRatio + Math.min(...faster.fan.scoreRange.map((z) => spread * z));
  return Math.min(1, Math.exp(-leastExponent / faster.riseOrderRange[1]));
}

/** The power at which the steady temperature of one draw is `limitC`, W; 0 where the intake air alone passes it. */
export function powerAtLimit(draws: SteadyDraws, index: number, limitC: number): number {
  const { referencePowerW } = draws;
  const riseK = limitC - draws.intakeC[index];
  if (riseK <= 0) return 0;
  const a = draws.dieRiseK[index];
  const m = draws.riseOrder[index];
  const b = draws.enclosureRiseK[index];
  const exponent = fanExponent(draws.fan, index);
  return (
    referencePowerW *
    (b === 0
      ? Math.exp((Math.log(riseK / a) - exponent) / m)
      : rootOfRise(riseK, a * Math.exp(exponent), b, m))
  );
}

/** A factor of the die's rise that is linear in m and z. */
interface LinearFactor {
  readonly intercept: number;
  readonly perOrder: number;
  readonly perScore: number;
}

/**
 * What is nowhere below e^(m·ln x + r + s·z): the exponential of m·ln x + s·z lies below its chord from the least to the
 * greatest of them. It spares an exponential for each draw.
 */
function factorAbove({ riseOrderRange, fan }: SteadyDraws, logX: number): LinearFactor {
  const { logRatio, relativeStandardError, scoreRange } = fan;
  const ofPower = riseOrderRange.map((order) => order * logX);
  const ofFan = scoreRange.map((score) => relativeStandardError * score);
  const lowest = Math.min(...ofPower) + Math.min(...ofFan);
  const highest = Math.max(...ofPower) + Math.max(...ofFan);
  const atLowest = Math.exp(logRatio + lowest);
  const slope = highest === lowest ? 0 : (Math.exp(logRatio + highest) - atLowest) / (highest - lowest);
  return {
    intercept: atLowest - slope * lowest,
    perOrder: slope * logX,
    perScore: slope * relativeStandardError,
  };
}

/**
 * Writes down the places of the draws whose steady temperature passes a limit at a power, and of a few that come near it;
 * returns how many there are.
 */
export function passingDraws(
  draws: SteadyDraws,
  limitC: number,
  powerW: number,
  places: Uint32Array,
): number {
  const { count, intakeC, dieRiseK, riseOrder, enclosureRiseK } = draws;
  const { scores } = draws.fan;
  const x = powerW / draws.referencePowerW;
  const { intercept, perOrder, perScore } = factorAbove(draws, Math.log(x));
  let found = 0;
  if (perScore === 0 && draws.means.enclosureRiseK === 0) {
    for (let i = 0; i < count; i++)
      if (!(intakeC[i] + dieRiseK[i] * (intercept + perOrder * riseOrder[i]) <= limitC)) places[found++] = i;
    return found;
  }
  for (let i = 0; i < count; i++) {
    const dieK = dieRiseK[i] * (intercept + perOrder * riseOrder[i] + perScore * scores[i]);
    // At no power, or at any, it is not a number and counts as above.
    if (!(intakeC[i] + dieK + enclosureRiseK[i] * x <= limitC)) places[found++] = i;
  }
  return found;
}

/**
 * Solves a·xᵐ + b·x = r for x by Newton's method. With m between 0.75 and 1 the left side is nearly a straight line: a
 * step that changes x by less than 1e-5 leaves less than 1e-11 of it.
 */
function rootOfRise(r: number, a: number, b: number, m: number): number {
  let x = r / (a + b);
  for (let step = 0; step < 20; step++) {
    const die = a * Math.exp(m * Math.log(x));
    const next = (x * (r - (1 - m) * die)) / (m * die + b * x);
    // A start far beyond the root may throw the first step below 0.
    const following = next > 0 ? next : 0.1 * x;
    const change = Math.abs(following - x);
    x = following;
    if (change < 1e-5 * x) break;
  }
  return x;
}

/** Each draw's steady temperature at a power, degrees Celsius; of the first `count` draws. */
export function temperaturesAt(
  draws: SteadyDraws,
  powerW: number,
  temperaturesC: Float64Array,
  count: number = draws.count,
): void {
  const { referencePowerW, intakeC, dieRiseK, riseOrder, enclosureRiseK } = draws;
  const { logRatio, relativeStandardError, scores } = draws.fan;
  const x = powerW / referencePowerW;
  const logX = Math.log(x);
  for (let i = 0; i < count; i++) {
    const exponent = riseOrder[i] * logX + logRatio + relativeStandardError * scores[i];
    temperaturesC[i] = intakeC[i] + dieRiseK[i] * Math.exp(exponent) + enclosureRiseK[i] * x;
  }
}

/**
 * What the mean of the steady temperatures at a power is not below, degrees Celsius: as a mean with weights a the
 * exponential is at least that of the mean of its exponents [Jensen's inequality].
 */
export function leastMeanTemperature({ referencePowerW, fan, means }: SteadyDraws, powerW: number): number {
  const x = powerW / referencePowerW;
  const exponent = means.riseOrder * Math.log(x) + fan.logRatio + fan.relativeStandardError * means.fanScore;
  return means.intakeC + means.dieRiseK * Math.exp(exponent) + means.enclosureRiseK * x;
}

/** What no draw's steady temperature at a power is below, degrees Celsius: that of the least of everything drawn. */
export function leastTemperature(draws: SteadyDraws, powerW: number): number {
  const { referencePowerW, riseOrderRange, fan, least } = draws;
  const x = powerW / referencePowerW;
  const ofPower = riseOrderRange.map((order) => order * Math.log(x));
  const ofFan = fan.scoreRange.map((score) => fan.logRatio + fan.relativeStandardError * score);
  const exponent = Math.min(...ofPower) + Math.min(...ofFan);
  return least.intakeC + least.dieRiseK * Math.exp(exponent) + least.enclosureRiseK * x;
}

/** dT/dP of one draw at a power where its temperature is known, K/W. */
export function slopeAt(draws: SteadyDraws, index: number, powerW: number, temperatureC: number): number {
  const enclosureK = (draws.enclosureRiseK[index] * powerW) / draws.referencePowerW;
  const dieK = temperatureC - draws.intakeC[index] - enclosureK;
  return (draws.riseOrder[index] * dieK + enclosureK) / powerW;
}

/** The steady temperature of one draw at a power above 0, degrees Celsius. */
export function temperatureOf(draws: SteadyDraws, index: number, powerW: number): number {
  const x = powerW / draws.referencePowerW;
  const exponent = draws.riseOrder[index] * Math.log(x) + fanExponent(draws.fan, index);
  return draws.intakeC[index] + draws.dieRiseK[index] * Math.exp(exponent) + draws.enclosureRiseK[index] * x;
}
