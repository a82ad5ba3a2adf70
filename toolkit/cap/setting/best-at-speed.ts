import type { BindingConstraint, CapBound } from './binding-constraint.js';
import { growsWithPower } from './objective.js';
import { type OperatingState, stateAt } from './operating-state.js';
import type { CapSetting, PreparedCap } from './prepared-cap.js';
import { throughputAtConfidence } from './setting-estimates.js';
import { stepDown } from './step-down.js';

/** The best setting within all constraints, and what binds. */
export interface BestSetting {
  readonly setting: CapSetting;
  readonly state: OperatingState;
  /** Largest cap that holds the limit at this fan speed, before the highest cap and the step cut it, W. */
  readonly limitCapW: number;
  readonly bindingConstraint: BindingConstraint;
}

/** Offsets are few enough to be tried one by one; caps are narrowed down on a grid this fine. */
const CAP_GRID_COUNT = 8;
/** A score must be better by this share to count as better: rounding is no reason for another setting. */
const SAME_SCORE_RATIO = 1e-9;

/** Whether a score, or what might be reached, is better by more than rounding; anything is better than nothing. */
export function isBetter(score: number, than: number | undefined): boolean {
  return score > (than === undefined ? Number.NEGATIVE_INFINITY : than * (1 + SAME_SCORE_RATIO));
}

/**
 * The best cap and voltage offset at one fan speed under a bound; `undefined` where none satisfies all constraints and is
 * better than a score.
 */
export function bestAtSpeed(
  prepared: PreparedCap,
  fanSpeedRpm: number | undefined,
  bound: CapBound,
  toBeat: number | undefined,
): BestSetting | undefined {
  const { scenario, floorW } = prepared;
  const highestCapW = stepDown(bound.powerW, scenario.stepW);
  if (highestCapW < floorW - 1e-9) return undefined;
  const lowestOfUseW = Math.min(highestCapW, lowestSettable(prepared));
  const stateOf = ({ powerCapW, offset }: CapAndOffset): OperatingState =>
    stateAt(prepared, settingOf(powerCapW, fanSpeedRpm, offset));
  const bestFrom = (lowestCapW: number): CapAndOffset =>
    bestBetween(prepared, lowestCapW, highestCapW, (at) => stateOf(at).score);
  let best = bestFrom(lowestOfUseW);
  let state = stateOf(best);
  if (!isBetter(state.score, toBeat)) return undefined;
  // What reaches the throughput is asked last: its uncertainty costs more than all else.
  const lowestCapW = lowestReaching(prepared, lowestOfUseW, highestCapW, fanSpeedRpm, best.offset);
  if (lowestCapW === undefined) return undefined;
  if (lowestCapW > best.powerCapW) {
    best = bestFrom(lowestCapW);
    state = stateOf(best);
    if (!isBetter(state.score, toBeat)) return undefined;
  }
  return {
    setting: state.setting,
    state,
    limitCapW: prepared.thermalAt(fanSpeedRpm).limitCapW,
    bindingConstraint: whatBinds(prepared, bound, { powerCapW: best.powerCapW, lowestCapW, highestCapW }),
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

/** The settable offsets, the shallowest first; one entry where there is no choice. */
function candidateOffsets({ scenario: { voltageOffset } }: PreparedCap): readonly (number | undefined)[] {
  if (voltageOffset === undefined) return [undefined];
  const { lowestMv, highestMv, stepMv } = voltageOffset;
  const offsets: number[] = [];
  const count = Math.floor((highestMv - lowestMv) / stepMv + 1e-9);
  for (let k = 0; k <= count; k++) offsets.push(tidy(highestMv - k * stepMv));
  return offsets;
}

/** What is set at one fan speed; the offset in millivolts, where there is a choice. */
export interface CapAndOffset {
  readonly powerCapW: number;
  readonly offset: number | undefined;
}

/** The cap between two and the offset with the highest score: at the highest cap where more power is always better. */
export function bestBetween(
  prepared: PreparedCap,
  lowestCapW: number,
  highestCapW: number,
  scoreAt: (at: CapAndOffset) => number,
): CapAndOffset {
  const { objective, stepW } = prepared.scenario;
  let powerCapW = highestCapW;
  let offset = bestOffset(prepared, (other) => scoreAt({ powerCapW, offset: other }));
  // The best offset hardly depends on the cap: two rounds settle both.
  for (let round = 0; round < 2 && !growsWithPower(objective); round++) {
    powerCapW = bestCap(lowestCapW, highestCapW, stepW, (capW) => scoreAt({ powerCapW: capW, offset }));
    const next = bestOffset(prepared, (other) => scoreAt({ powerCapW, offset: other }));
    if (next === offset) break;
    offset = next;
  }
  return { powerCapW, offset };
}

/** The shallowest offset than which none has a better score. */
export function bestOffset(
  prepared: PreparedCap,
  scoreAt: (offset: number | undefined) => number,
): number | undefined {
  const [first, ...deeper] = candidateOffsets(prepared);
  if (deeper.length === 0) return first;
  let best = first;
  let bestScore = scoreAt(first);
  for (const offset of deeper) {
    const score = scoreAt(offset);
    if (isBetter(score, bestScore)) [best, bestScore] = [offset, score];
  }
  return best;
}

/** The lowest settable cap from one up to another that reaches the least throughput; `undefined` where none does. */
export function lowestReaching(
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

/** The lowest settable cap that is of use, W. */
export function lowestSettable({ floorW, scenario: { stepW } }: PreparedCap): number {
  const down = stepDown(floorW, stepW);
  return down >= floorW - 1e-9 ? down : tidy(down + stepW);
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
