import type { TemperatureDraws } from './temperature-draws.js';

/** What a load draws in each draw where no cap holds it back, W, and how warm it is then, degrees Celsius. */
export interface Demand {
  /** A cap below it holds every draw back, W: known without working out the demands, and not above the least of them. */
  readonly atLeastW: number;
  /** Whether a draw demands no more than a power; how warm it is at that power is known, degrees Celsius. */
  isAtMost(index: number, powerW: number, temperatureC: number): boolean;
  readonly powersW: Float64Array;
  /** The least and the greatest of these, W. */
  readonly rangeW: readonly [least: number, greatest: number];
  readonly temperaturesC: Float64Array;
}

/** A load that draws no more than a power of its own, the same in every draw: beyond it nothing changes. */
export function upToPower(draws: TemperatureDraws, mostW: number): TemperatureDraws {
  let atMostC: Float64Array | undefined;
  const temperaturesAtMost = (): Float64Array => {
    if (atMostC === undefined) {
      atMostC = new Float64Array(draws.count);
      draws.temperaturesAt(mostW, atMostC);
    }
    return atMostC;
  };
  return {
    count: draws.count,
    restingC: draws.restingC,
    temperaturesAt(powerW, temperaturesC, count = draws.count) {
      if (powerW <= mostW) draws.temperaturesAt(powerW, temperaturesC, count);
      else for (let i = 0, atC = temperaturesAtMost(); i < count; i++) temperaturesC[i] = atC[i];
    },
    powerAtLimit(index, limitC) {
      const powerW = draws.powerAtLimit(index, limitC);
      return powerW > 0 && mostW <= powerW ? Number.POSITIVE_INFINITY : powerW;
    },
    passingDraws: (limitC, powerW, places) => draws.passingDraws(limitC, Math.min(powerW, mostW), places),
    meanTemperatureC: (powerW) => draws.meanTemperatureC(Math.min(powerW, mostW)),
    leastMeanC: (powerW) => draws.leastMeanC(Math.min(powerW, mostW)),
    slopeAt: (index, powerW, temperatureC) =>
      mostW < powerW ? 0 : draws.slopeAt(index, powerW, temperatureC),
  };
}

/** A load that draws no more than its demand, one of its own in each draw, whatever the cap allows. */
export function upToDemand(draws: TemperatureDraws, demand: Demand): TemperatureDraws {
  const { count } = draws;
  const holdsAllBack = (powerW: number): boolean => powerW < demand.atLeastW;
  const temperaturesAt: TemperatureDraws['temperaturesAt'] = (powerW, temperaturesC, first = count) => {
    if (holdsAllBack(powerW)) {
      draws.temperaturesAt(powerW, temperaturesC, first);
      return;
    }
    const [leastW, greatestW] = demand.rangeW;
    if (greatestW >= powerW) draws.temperaturesAt(powerW, temperaturesC, first);
    if (leastW >= powerW) return;
    const { powersW, temperaturesC: ownC } = demand;
    for (let i = 0; i < first; i++) if (powersW[i] < powerW) temperaturesC[i] = ownC[i];
  };
  const meanTemperatureC = meanAt(count, temperaturesAt);
  return {
    count,
    restingC: draws.restingC,
    temperaturesAt,
    powerAtLimit(index, limitC) {
      const powerW = draws.powerAtLimit(index, limitC);
      if (powerW === 0 || holdsAllBack(powerW)) return powerW;
      return demand.isAtMost(index, powerW, limitC) ? Number.POSITIVE_INFINITY : powerW;
    },
    // Those that would pass it without the demand: the power at the limit tells which the demand keeps below it.
    passingDraws: (limitC, powerW, places) => draws.passingDraws(limitC, powerW, places),
    meanTemperatureC: (powerW) =>
      holdsAllBack(powerW) ? draws.meanTemperatureC(powerW) : meanTemperatureC(powerW),
    leastMeanC: (powerW) =>
      draws.leastMeanC(holdsAllBack(powerW) ? powerW : Math.min(powerW, demand.rangeW[0])),
    slopeAt: (index, powerW, temperatureC) =>
      !holdsAllBack(powerW) && demand.powersW[index] < powerW
        ? 0
        : draws.slopeAt(index, powerW, temperatureC),
  };
}

/** Several loads under one cap: in each draw the hottest counts. */
export function hottestOf(members: readonly TemperatureDraws[]): TemperatureDraws {
  const [first, ...others] = members;
  if (others.length === 0) return first;
  const { count } = first;
  const held = new Float64Array(count);
  const temperaturesAt: TemperatureDraws['temperaturesAt'] = (powerW, temperaturesC, upTo = count) => {
    first.temperaturesAt(powerW, temperaturesC, upTo);
    for (const member of others) {
      member.temperaturesAt(powerW, held, upTo);
      for (let i = 0; i < upTo; i++) if (held[i] > temperaturesC[i]) temperaturesC[i] = held[i];
    }
  };
  const restingC = first.restingC.slice();
  for (const member of others)
    for (let i = 0; i < count; i++) restingC[i] = Math.max(restingC[i], member.restingC[i]);
  return {
    count,
    restingC,
    temperaturesAt,
    powerAtLimit(index, limitC) {
      let lowestW = Number.POSITIVE_INFINITY;
      for (const member of members) lowestW = Math.min(lowestW, member.powerAtLimit(index, limitC));
      return lowestW;
    },
    passingDraws(limitC, powerW, places) {
      const passes = new Uint8Array(count);
      for (const member of members) {
        const found = member.passingDraws(limitC, powerW, places);
        for (let k = 0; k < found; k++) passes[places[k]] = 1;
      }
      let found = 0;
      for (let i = 0; i < count; i++) if (passes[i] === 1) places[found++] = i;
      return found;
    },
    meanTemperatureC: meanAt(count, temperaturesAt),
    leastMeanC: (powerW) => Math.max(...members.map((member) => member.leastMeanC(powerW))),
    slopeAt: (index, powerW, temperatureC) =>
      Math.max(...members.map((member) => member.slopeAt(index, powerW, temperatureC))),
  };
}

/** Mean of the draws' temperatures over the power. A setting is asked for its mean several times: the last is kept. */
function meanAt(
  count: number,
  temperaturesAt: TemperatureDraws['temperaturesAt'],
): (powerW: number) => number {
  let last: { readonly powerW: number; readonly meanC: number } | undefined;
  return (powerW) => {
    if (last?.powerW === powerW) return last.meanC;
    const temperaturesC = new Float64Array(count);
    temperaturesAt(powerW, temperaturesC);
    let sum = 0;
    for (let i = 0; i < count; i++) sum += temperaturesC[i];
    last = { powerW, meanC: sum / count };
    return last.meanC;
  };
}
