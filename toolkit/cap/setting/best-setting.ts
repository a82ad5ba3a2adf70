import type { BindingConstraint, CapBound } from './binding-constraint.js';
import { fanPowerOf, settableSpeeds } from './fan-response.js';
import { notFeasible, tooLittleThroughput } from './not-feasible.js';
import { growsWithPower } from './objective.js';
import { type OperatingState, stateAt } from './operating-state.js';
import type { CapSetting, PreparedCap } from './prepared-cap.js';
import { throughputAtConfidence } from './setting-estimates.js';
import { stepDown } from './step-down.js';
import { packagePowerWithin, supplyPower } from './supply-power.js';

/** The best setting within all constraints, and what binds. */
export interface BestSetting {
  readonly setting: CapSetting;
  readonly state: OperatingState;
  /** Largest cap that holds the limit at this fan speed, before the highest cap and the step cut it, W. */
  readonly limitCapW: number;
  readonly bindingConstraint: BindingConstraint;
}

/** Offsets and speeds are few enough to be tried one by one; caps are narrowed down on a grid this fine. */
const CAP_GRID_COUNT = 24;
/** A score must be better by this share to count as better: rounding is no reason for another setting. */
const SAME_SCORE_RATIO = 1e-9;

/**
 * The setting that makes the most of the objective within all constraints: cap, and where they are free, fan speed and
 * voltage offset, all on the steps they can be set in and on the same draws.
 *
 * The constraints bound the cap from both sides at each fan speed: from above by the (1 − confidence) quantile of the
 * draws' largest powers, the supply's budget and the highest cap; from below by the lowest cap and the least throughput.
 * Where the objective grows with power the highest cap is the best; where it does not (energy per job, work per
 * watt-hour) the caps between are searched. Without a fan power a faster fan is never worse, so the fastest allowed is
 * taken; with one the settable speeds are searched by branch and bound.
 *
 * @throws NumericalError where nothing satisfies all constraints: which one fails, by how much, and the nearest ways out
 */
export function bestSetting(prepared: PreparedCap): BestSetting {
  const { scenario, floorW } = prepared;
  const offsets = candidateOffsets(prepared);
  const fastestRpm = scenario.fan === undefined ? undefined : settableSpeeds(scenario.fan).at(-1)!;
  const bound = capBound(prepared, fastestRpm);
  const fastest = bestAtSpeed(prepared, fastestRpm, bound, offsets, undefined);
  const best =
    scenario.fan?.power === undefined
      ? fastest
      : (bestOfSlower(prepared, settableSpeeds(scenario.fan), offsets, fastest) ?? fastest);
  if (best !== undefined) return best;
  throw stepDown(bound.powerW, scenario.stepW) < floorW - 1e-9
    ? notFeasible(prepared, fastestRpm, bound)
    : tooLittleThroughput(prepared, fastestRpm, bound, offsets);
}

/** The highest cap allowed at a fan speed, before the step cuts it, and what sets it. */
export function capBound(prepared: PreparedCap, fanSpeedRpm: number | undefined): CapBound {
  const { scenario, ceiling } = prepared;
  const { limitCapW } = prepared.thermalAt(fanSpeedRpm);
  const supplyW = packagePowerWithin(scenario.supply, fanPowerOf(scenario.fan, fanSpeedRpm));
  const bounds: readonly CapBound[] = [
    { powerW: limitCapW, constraint: 'temperature' },
    { powerW: supplyW, constraint: 'supply' },
    { powerW: ceiling.powerW, constraint: ceiling.constraint },
  ];
  return bounds.reduce((lowest, bound) => (bound.powerW < lowest.powerW ? bound : lowest));
}

/** Settable speeds in a row of which none has been tried. */
interface UntriedSpeeds {
  readonly from: number;
  readonly to: number;
  /** The next faster speed, which has been tried: a slower fan never allows more and never leaves the die cooler. */
  readonly fasterRpm: number;
  /** What none of them can exceed. */
  readonly mostScore: number;
}

/**
 * The best setting among all speeds below the fastest, where the fan's power counts; `undefined` where none is better.
 *
 * Branch and bound: of speeds in a row none reaches more than the least fan power among them would allow with die and
 * limit as at the next faster speed. The row that promises most is split at a speed that is worked out, until no row
 * promises more than the best.
 */
function bestOfSlower(
  prepared: PreparedCap,
  speeds: readonly number[],
  offsets: readonly (number | undefined)[],
  fastest: BestSetting | undefined,
): BestSetting | undefined {
  const range = capsOfUse(prepared, speeds.at(-1)!, offsets);
  if (range === undefined) return fastest;
  const row = (from: number, to: number, fasterRpm: number): readonly UntriedSpeeds[] =>
    from > to
      ? []
      : [{ from, to, fasterRpm, mostScore: mostScoreOf(prepared, speeds[from]!, fasterRpm, range) }];
  let best = fastest;
  let rows = row(0, speeds.length - 2, speeds.at(-1)!);
  while (rows.length > 0) {
    const first = rows.reduce((most, other) => (other.mostScore > most.mostScore ? other : most));
    if (first.mostScore <= (best?.state.score ?? Number.NEGATIVE_INFINITY)) break;
    const split = splitOf(prepared, speeds, first);
    const bound = capBound(prepared, speeds[split]);
    const found = bestAtSpeed(prepared, speeds[split], bound, offsets, best?.state);
    if (found !== undefined && isBetter(found.state, best?.state)) best = found;
    rows = [
      ...rows.filter((other) => other !== first),
      ...row(first.from, split - 1, speeds[split]!),
      ...row(split + 1, first.to, first.fasterRpm),
    ];
  }
  return best;
}

/**
 * Where to try a row first: where more power is always better, at the fastest speed whose fan leaves the supply as much
 * as the temperature allows there by the fan's mean response, which is near the best; else in the middle.
 */
function splitOf(
  prepared: PreparedCap,
  speeds: readonly number[],
  { from, to, fasterRpm }: UntriedSpeeds,
): number {
  const { scenario } = prepared;
  const middle = (from + to + 1) >> 1;
  if (!growsWithPower(scenario.objective)) return middle;
  const expectedAt = expectedLimitCap(prepared, fasterRpm);
  let split = middle;
  let mostW = Number.NEGATIVE_INFINITY;
  for (let k = from; k <= to; k++) {
    const suppliedW = packagePowerWithin(scenario.supply, fanPowerOf(scenario.fan, speeds[k]));
    const capW = Math.min(expectedAt(speeds[k]!), suppliedW);
    const settableW = stepDown(Math.min(capW, prepared.ceiling.powerW), scenario.stepW);
    if (settableW < mostW) continue;
    mostW = settableW;
    split = k;
  }
  return split;
}

/** The largest cap at the limit to be expected at other speeds, from that at one and the fan's mean response, W. */
export function expectedLimitCap(prepared: PreparedCap, knownRpm: number): (fanSpeedRpm: number) => number {
  const { limitCapW } = prepared.thermalAt(knownRpm);
  const order = 1 / (1 - prepared.cooler.resistanceLaw.powerExponent);
  const knownRatio = prepared.resistanceRatioAt(knownRpm);
  return (fanSpeedRpm) => limitCapW * (knownRatio / prepared.resistanceRatioAt(fanSpeedRpm)) ** order;
}

/** Caps that may be the best at some speed, and the offset that is best at the highest of them. */
interface CapsOfUse {
  readonly lowestCapW: number;
  readonly highestCapW: number;
  readonly offset: number | undefined;
}

/** From the least cap that reaches the throughput at the fastest speed to its limit; `undefined` where there is none. */
function capsOfUse(
  prepared: PreparedCap,
  fastestRpm: number,
  offsets: readonly (number | undefined)[],
): CapsOfUse | undefined {
  const { scenario, floorW, ceiling } = prepared;
  const { stepW } = scenario;
  const highestCapW = stepDown(Math.min(ceiling.powerW, prepared.thermalAt(fastestRpm).limitCapW), stepW);
  if (highestCapW < floorW - 1e-9) return undefined;
  const stateOf = (offset: number | undefined): OperatingState =>
    stateAt(prepared, settingOf(highestCapW, fastestRpm, offset));
  const offset = offsets.reduce((best, other) => (isBetter(stateOf(other), stateOf(best)) ? other : best));
  const lowestOfUseW = Math.min(highestCapW, stepUp(floorW, stepW));
  const lowestCapW = lowestAllowed(prepared, lowestOfUseW, highestCapW, fastestRpm, offset) ?? highestCapW;
  return { lowestCapW, highestCapW, offset };
}

/** What no speed from the slowest of a row up to the next faster one tried can exceed. */
function mostScoreOf(
  prepared: PreparedCap,
  slowestRpm: number,
  fasterRpm: number,
  { lowestCapW, highestCapW, offset }: CapsOfUse,
): number {
  const { scenario } = prepared;
  const fanPowerW = fanPowerOf(scenario.fan, slowestRpm);
  const mostW = Math.min(
    highestCapW,
    prepared.thermalAt(fasterRpm).limitCapW,
    packagePowerWithin(scenario.supply, fanPowerW),
  );
  const mostCapW = stepDown(mostW, scenario.stepW);
  if (mostCapW < lowestCapW - 1e-9) return Number.NEGATIVE_INFINITY;
  const scoreAt = (powerCapW: number): number =>
    scoreWithFan(prepared, stateAt(prepared, settingOf(powerCapW, fasterRpm, offset)), fanPowerW);
  const mostScore = scoreAt(
    growsWithPower(scenario.objective) ? mostCapW : bestCap(lowestCapW, mostCapW, scenario.stepW, scoreAt),
  );
  // The bound is worked out along a slightly different path of rounding.
  return mostScore + SAME_SCORE_RATIO * Math.abs(mostScore);
}

/** The score of a state with another fan power: all that changes is what the supply feeds. */
function scoreWithFan({ scenario }: PreparedCap, state: OperatingState, fanPowerW: number): number {
  const { throughputPerS, packagePowerW } = state;
  if (throughputPerS === undefined || growsWithPower(scenario.objective)) return state.score;
  return (state.score * state.supplyPowerW) / supplyPower(scenario.supply, packagePowerW + fanPowerW);
}

/** The settable offsets, the shallowest first; one entry where there is no choice. */
export function candidateOffsets({
  scenario: { voltageOffset },
}: PreparedCap): readonly (number | undefined)[] {
  if (voltageOffset === undefined) return [undefined];
  const { lowestMv, highestMv, stepMv } = voltageOffset;
  const offsets: number[] = [];
  const count = Math.floor((highestMv - lowestMv) / stepMv + 1e-9);
  for (let k = 0; k <= count; k++) offsets.push(tidy(highestMv - k * stepMv));
  return offsets;
}

function bestAtSpeed(
  prepared: PreparedCap,
  fanSpeedRpm: number | undefined,
  bound: CapBound,
  offsets: readonly (number | undefined)[],
  toBeat: OperatingState | undefined,
): BestSetting | undefined {
  const { scenario, floorW } = prepared;
  const highestCapW = stepDown(bound.powerW, scenario.stepW);
  if (highestCapW < floorW - 1e-9) return undefined;
  const lowestOfUseW = Math.min(highestCapW, stepUp(floorW, scenario.stepW));
  const stateOf = (powerCapW: number, offset: number | undefined): OperatingState =>
    stateAt(prepared, settingOf(powerCapW, fanSpeedRpm, offset));
  const bestOffset = (powerCapW: number): number | undefined =>
    offsets.length === 1
      ? offsets[0]
      : offsets.reduce((best, offset) =>
          isBetter(stateOf(powerCapW, offset), stateOf(powerCapW, best)) ? offset : best,
        );
  const bestFrom = (
    lowestCapW: number,
  ): { readonly powerCapW: number; readonly offset: number | undefined } => {
    let powerCapW = highestCapW;
    let offset = bestOffset(powerCapW);
    // The best offset hardly depends on the cap: two rounds settle both.
    for (let round = 0; round < 2 && !growsWithPower(scenario.objective); round++) {
      powerCapW = bestCap(lowestCapW, highestCapW, scenario.stepW, (capW) => stateOf(capW, offset).score);
      const next = bestOffset(powerCapW);
      if (next === offset) break;
      offset = next;
    }
    return { powerCapW, offset };
  };
  let { powerCapW, offset } = bestFrom(lowestOfUseW);
  if (toBeat !== undefined && !isBetter(stateOf(powerCapW, offset), toBeat)) return undefined;
  // What reaches the throughput is asked last: its uncertainty costs more than all else.
  const lowestCapW = lowestAllowed(prepared, lowestOfUseW, highestCapW, fanSpeedRpm, offset);
  if (lowestCapW === undefined) return undefined;
  if (lowestCapW > powerCapW) ({ powerCapW, offset } = bestFrom(lowestCapW));
  return {
    setting: settingOf(powerCapW, fanSpeedRpm, offset),
    state: stateOf(powerCapW, offset),
    limitCapW: prepared.thermalAt(fanSpeedRpm).limitCapW,
    bindingConstraint: whatBinds(prepared, bound, { powerCapW, lowestCapW, highestCapW }),
  };
}

export function settingOf(
  powerCapW: number,
  fanSpeedRpm: number | undefined,
  voltageOffsetMv: number | undefined,
): CapSetting {
  return {
    powerCapW,
    ...(fanSpeedRpm === undefined ? {} : { fanSpeedRpm }),
    ...(voltageOffsetMv === undefined ? {} : { voltageOffsetMv }),
  };
}

function isBetter(state: OperatingState, than: OperatingState | undefined): boolean {
  return than === undefined || state.score > than.score * (1 + SAME_SCORE_RATIO);
}

/** The lowest settable cap from the floor up that reaches the least throughput; `undefined` where none does. */
function lowestAllowed(
  prepared: PreparedCap,
  lowestCapW: number,
  highestCapW: number,
  fanSpeedRpm: number | undefined,
  offset: number | undefined,
): number | undefined {
  const { scenario } = prepared;
  const { minThroughputPerS, stepW } = scenario;
  if (minThroughputPerS === undefined) return lowestCapW;
  const reaches = (powerCapW: number): boolean => {
    const reached = throughputAtConfidence(
      prepared,
      settingOf(powerCapW, fanSpeedRpm, offset),
      scenario.confidence,
    );
    return reached !== undefined && reached >= minThroughputPerS;
  };
  if (!reaches(highestCapW)) return undefined;
  let low = -1;
  let high = Math.round((highestCapW - lowestCapW) / stepW);
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (reaches(lowestCapW + middle * stepW)) high = middle;
    else low = middle;
  }
  return tidy(lowestCapW + high * stepW);
}

function stepUp(powerW: number, stepW: number): number {
  const down = stepDown(powerW, stepW);
  return down >= powerW - 1e-9 ? down : tidy(down + stepW);
}

/** The settable cap with the highest score: a grid narrowed around its best point until it is as fine as the step. */
function bestCap(
  lowestCapW: number,
  highestCapW: number,
  stepW: number,
  scoreAt: (powerCapW: number) => number,
): number {
  let low = 0;
  let high = Math.round((highestCapW - lowestCapW) / stepW);
  for (;;) {
    const stride = Math.max(1, Math.floor((high - low) / CAP_GRID_COUNT));
    let best = low;
    let bestScore = Number.NEGATIVE_INFINITY;
    for (let k = low; ; k = Math.min(high, k + stride)) {
      const score = scoreAt(tidy(lowestCapW + k * stepW));
      if (score > bestScore) {
        bestScore = score;
        best = k;
      }
      if (k === high) break;
    }
    if (stride === 1) return tidy(lowestCapW + best * stepW);
    low = Math.max(low, best - stride);
    high = Math.min(high, best + stride);
  }
}

function whatBinds(
  prepared: PreparedCap,
  bound: CapBound,
  caps: { readonly powerCapW: number; readonly lowestCapW: number; readonly highestCapW: number },
): BindingConstraint {
  const { powerCapW, lowestCapW, highestCapW } = caps;
  if (powerCapW >= highestCapW) return bound.constraint;
  if (powerCapW > lowestCapW) return 'objective';
  return lowestCapW > prepared.floorW + prepared.scenario.stepW - 1e-9 ? 'min-throughput' : 'min-cap';
}

const tidy = (powerW: number): number => Number(powerW.toPrecision(12));
