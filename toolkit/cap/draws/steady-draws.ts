import { NumericalError } from '../../errors.js';
import { studentTQuantile } from '../../numerics/distributions.js';
import type { CoolerModel, ResistanceLaw } from '../../thermal/cooler-model.js';
import type { SettledScenario } from '../scenario/cap-scenario.js';
import { addDraws } from '../scenario/uncertain-input.js';
import { type StandardDraws, standardDraws } from './standard-draws.js';

/**
 * Draws of everything the steady temperature depends on:
 * T(P) = intake + a·x^m + b·x with x = P / reference power, a the rise of the die and b that of the enclosure at
 * the reference power, and m = 1 − exponent of the resistance law.
 */
export interface SteadyDraws {
  readonly count: number;
  readonly referencePowerW: number;
  /** Room air and what of the enclosure's rise does not depend on power, degrees Celsius. */
  readonly intakeC: Float64Array;
  /** a: thermal resistance times reference power, K. */
  readonly dieRiseK: Float64Array;
  /** m, between 0.75 and 1 for the convection laws known. */
  readonly riseOrder: Float64Array;
  /** The least and the greatest m among the draws, or numbers beyond them. */
  readonly riseOrderRange: readonly [lowest: number, highest: number];
  /** b, where the enclosure's rise scales with power, K. */
  readonly enclosureRiseK: Float64Array | undefined;
  /** Normal scores of what the fan curve leaves open, where the fan's speed is to be chosen. */
  readonly fanScores: Float64Array | undefined;
}

/** What of a scenario is drawn. */
export type DrawnScenario = Pick<SettledScenario, 'ambientC' | 'enclosure' | 'drawCount' | 'seed' | 'fan'>;

/** Exponents of R ∝ ΔT^−p, p from 0 (fan fixed) to 1/3 (turbulent natural convection), turned to R ∝ P^−q. */
const EXPONENT_RANGE: readonly [number, number] = [0, 0.25];

/**
 * Draws a cooler's resistance and exponent, the room air and the enclosure's rise.
 *
 * Resistance and exponent follow a joint Student t with the model's degrees of freedom and correlation; an assumed
 * exponent is a normal prior. Draws with a resistance that is not positive are left out (a truncated
 * distribution); exponents are clipped to [0, 0.25], widened to the model's own exponent where that lies outside;
 * a rise below 0 counts as 0.
 *
 * @param coolers - one a load, all on the same scores: one mount, one sensor, one room; a draw is left out of all
 * @returns one set a cooler, of equal length
 * @throws NumericalError where a resistance is unavailable or its 95 % interval reaches 0
 */
export function drawSteady(
  coolers: readonly CoolerModel[],
  scenario: DrawnScenario,
  caller: string,
): readonly SteadyDraws[] {
  const scores = coolers.map((cooler) => {
    requireCarryingResistance(cooler, caller);
    return standardDraws({
      count: scenario.drawCount,
      seed: scenario.seed,
      degreesOfFreedom: cooler.resistanceLaw.degreesOfFreedom,
      exponentIsFitted: cooler.resistanceLaw.exponentSource === 'fitted',
      withFan: scenario.fan !== undefined,
    });
  });
  const resistances = coolers.map(({ resistanceLaw }, c) =>
    resistancesOf(resistanceLaw, scores[c]!.resistanceScores),
  );
  const keptDraws = positiveEverywhere(resistances);
  return coolers.map(({ resistanceLaw }, c) =>
    drawsOf(resistanceLaw, scores[c]!, resistances[c]!, keptDraws, scenario),
  );
}

function resistancesOf(law: ResistanceLaw, scores: Float64Array): Float64Array {
  const resistances = new Float64Array(scores.length);
  for (let i = 0; i < scores.length; i++)
    resistances[i] = law.thermalResistanceKPerW + law.resistanceStandardErrorKPerW * scores[i]!;
  return resistances;
}

/** Places of the draws whose resistances are positive in all sets. */
function positiveEverywhere(sets: readonly Float64Array[]): Uint32Array {
  const { length } = sets[0]!;
  const places = new Uint32Array(length);
  let count = 0;
  for (let i = 0; i < length; i++) {
    let positive = true;
    for (const set of sets) if (!(set[i]! > 0)) positive = false;
    if (positive) places[count++] = i;
  }
  return places.subarray(0, count);
}

function drawsOf(
  law: ResistanceLaw,
  standard: StandardDraws,
  resistances: Float64Array,
  places: Uint32Array,
  scenario: DrawnScenario,
): SteadyDraws {
  const roomC = new Float64Array(standard.count);
  addDraws(scenario.ambientC, standard.ambient, roomC);
  let rises: Float64Array | undefined;
  const scales = scenario.enclosure?.atPowerW !== undefined;
  if (scenario.enclosure !== undefined) {
    const { riseK, atPowerW } = scenario.enclosure;
    rises = new Float64Array(standard.count);
    addDraws(riseK, standard.enclosure, rises);
    const scale = atPowerW === undefined ? 1 : law.atPowerW / atPowerW;
    for (let i = 0; i < rises.length; i++) rises[i] = Math.max(0, rises[i]!) * scale;
    if (!scales) for (let i = 0; i < rises.length; i++) roomC[i]! += rises[i]!;
  }
  const count = places.length;
  const intakeC = new Float64Array(count);
  const dieRiseK = new Float64Array(count);
  const riseOrder = new Float64Array(count);
  const enclosureRiseK = scales ? new Float64Array(count) : undefined;
  const lowest = Math.min(EXPONENT_RANGE[0], law.powerExponent);
  const highest = Math.max(EXPONENT_RANGE[1], law.powerExponent);
  const alone = Math.sqrt(1 - law.correlation ** 2);
  let leastOrder = Number.POSITIVE_INFINITY;
  let greatestOrder = Number.NEGATIVE_INFINITY;
  for (let k = 0; k < count; k++) {
    const i = places[k]!;
    const exponent =
      law.powerExponent +
      law.exponentStandardError *
        (law.correlation * standard.resistanceScores[i]! + alone * standard.exponentScores[i]!);
    intakeC[k] = roomC[i]!;
    if (enclosureRiseK !== undefined) enclosureRiseK[k] = rises![i]!;
    dieRiseK[k] = resistances[i]! * law.atPowerW;
    const order = 1 - Math.min(highest, Math.max(lowest, exponent));
    riseOrder[k] = order;
    if (order < leastOrder) leastOrder = order;
    if (order > greatestOrder) greatestOrder = order;
  }
  return {
    count,
    referencePowerW: law.atPowerW,
    intakeC,
    dieRiseK,
    riseOrder,
    riseOrderRange: [leastOrder, greatestOrder],
    enclosureRiseK,
    fanScores: standard.fan === undefined ? undefined : kept(standard.fan.normalScores(), places),
  };
}

function kept(values: Float64Array, places: Uint32Array): Float64Array {
  const picked = new Float64Array(places.length);
  for (let k = 0; k < places.length; k++) picked[k] = values[places[k]!]!;
  return picked;
}

/** The same draws with the die's rise at another fan speed: each draw's times ratio · e^(relative spread · score). */
export function atOtherFanSpeed(
  draws: SteadyDraws,
  ratio: number,
  relativeStandardError: number,
): SteadyDraws {
  const { fanScores, dieRiseK } = draws;
  const scaled = new Float64Array(draws.count);
  for (let i = 0; i < scaled.length; i++)
    scaled[i] =
      dieRiseK[i]! *
      ratio *
      (fanScores === undefined || relativeStandardError === 0
        ? 1
        : Math.exp(relativeStandardError * fanScores[i]!));
  return { ...draws, dieRiseK: scaled };
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
  'too-few-points': 'too few points',
} as const;

/** The power at which the steady temperature of one draw is `limitC`, W; 0 where the intake air alone passes it. */
export function powerAtLimit(draws: SteadyDraws, index: number, limitC: number): number {
  const { referencePowerW, enclosureRiseK } = draws;
  const riseK = limitC - draws.intakeC[index]!;
  if (riseK <= 0) return 0;
  const a = draws.dieRiseK[index]!;
  const m = draws.riseOrder[index]!;
  const b = enclosureRiseK === undefined ? 0 : enclosureRiseK[index]!;
  return (
    referencePowerW *
    (m === 1 ? riseK / (a + b) : b === 0 ? Math.exp(Math.log(riseK / a) / m) : rootOfRise(riseK, a, b, m))
  );
}

/**
 * Places of the draws whose steady temperature passes a limit at a power, and of a few that come near it. As a function
 * of m, xᵐ lies below its chord from the lowest to the highest order: that spares an exponential for each draw.
 */
export function passingDraws(draws: SteadyDraws, limitC: number, powerW: number): Uint32Array {
  const { count, referencePowerW, intakeC, dieRiseK, riseOrder, enclosureRiseK } = draws;
  const [lowest, highest] = draws.riseOrderRange;
  const x = powerW / referencePowerW;
  const slope = highest === lowest ? 0 : (x ** highest - x ** lowest) / (highest - lowest);
  const intercept = x ** lowest - slope * lowest;
  const places = new Uint32Array(count);
  let found = 0;
  for (let i = 0; i < count; i++) {
    const mostC =
      intakeC[i]! +
      dieRiseK[i]! * (intercept + slope * riseOrder[i]!) +
      (enclosureRiseK === undefined ? 0 : enclosureRiseK[i]! * x);
    if (!(mostC <= limitC)) places[found++] = i;
  }
  return places.subarray(0, found);
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
  const x = powerW / referencePowerW;
  const logX = Math.log(x);
  for (let i = 0; i < count; i++)
    temperaturesC[i] =
      intakeC[i]! +
      dieRiseK[i]! * Math.exp(riseOrder[i]! * logX) +
      (enclosureRiseK === undefined ? 0 : enclosureRiseK[i]! * x);
}

/** dT/dP of one draw at a power where its temperature is known, K/W. */
export function slopeAt(draws: SteadyDraws, index: number, powerW: number, temperatureC: number): number {
  const enclosureK =
    draws.enclosureRiseK === undefined ? 0 : (draws.enclosureRiseK[index]! * powerW) / draws.referencePowerW;
  const dieK = temperatureC - draws.intakeC[index]! - enclosureK;
  return (draws.riseOrder[index]! * dieK + enclosureK) / powerW;
}

/** The steady temperature of one draw at a power above 0, degrees Celsius. */
export function temperatureOf(draws: SteadyDraws, index: number, powerW: number): number {
  const x = powerW / draws.referencePowerW;
  const enclosureK = draws.enclosureRiseK === undefined ? 0 : draws.enclosureRiseK[index]! * x;
  return (
    draws.intakeC[index]! +
    draws.dieRiseK[index]! * Math.exp(draws.riseOrder[index]! * Math.log(x)) +
    enclosureK
  );
}
