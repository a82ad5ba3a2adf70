import { passingByTemperature, type TemperatureDraws } from './temperature-draws.js';

/** What a load draws in each draw where no cap holds it back, W, and how warm it is then, degrees Celsius. */
export interface Demand {
  readonly powersW: Float64Array;
  readonly temperaturesC: Float64Array;
}

/** The demand of a load that draws the same in every draw. */
export function fixedDemand(draws: TemperatureDraws, demandW: number): Demand {
  const temperaturesC = new Float64Array(draws.count);
  draws.temperaturesAt(demandW, temperaturesC);
  return { powersW: new Float64Array(draws.count).fill(demandW), temperaturesC };
}

/** A load that draws no more than its demand, whatever the cap allows. */
export function upToDemand(
  draws: TemperatureDraws,
  { powersW: demandW, ...demand }: Demand,
): TemperatureDraws {
  const { count } = draws;
  let leastDemandW = Number.POSITIVE_INFINITY;
  for (let i = 0; i < count; i++) leastDemandW = Math.min(leastDemandW, demandW[i]);
  const temperaturesAt: TemperatureDraws['temperaturesAt'] = (powerW, temperaturesC, first = count) => {
    draws.temperaturesAt(powerW, temperaturesC, first);
    for (let i = 0; i < first; i++) if (demandW[i] < powerW) temperaturesC[i] = demand.temperaturesC[i];
  };
  return {
    count,
    restingC: draws.restingC,
    temperaturesAt,
    powerAtLimit(index, limitC) {
      const powerW = draws.powerAtLimit(index, limitC);
      return powerW > 0 && demandW[index] <= powerW ? Number.POSITIVE_INFINITY : powerW;
    },
    passingDraws: (limitC, powerW, places) =>
      passingByTemperature({ count, temperaturesAt }, limitC, powerW, places),
    meanTemperatureC: (powerW) => meanAt(count, temperaturesAt, powerW),
    leastMeanC: (powerW) => draws.leastMeanC(Math.min(powerW, leastDemandW)),
    slopeAt: (index, powerW, temperatureC) =>
      demandW[index] < powerW ? 0 : draws.slopeAt(index, powerW, temperatureC),
  };
}

/** Several loads under one cap: in each draw the hottest counts. */
export function hottestOf(members: readonly TemperatureDraws[]): TemperatureDraws {
  const [first, ...others] = members;
  if (first === undefined || others.length === 0) return first;
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
    passingDraws: (limitC, powerW, places) =>
      passingByTemperature({ count, temperaturesAt }, limitC, powerW, places),
    meanTemperatureC: (powerW) => meanAt(count, temperaturesAt, powerW),
    leastMeanC: (powerW) => Math.max(...members.map((member) => member.leastMeanC(powerW))),
    slopeAt: (index, powerW, temperatureC) =>
      Math.max(...members.map((member) => member.slopeAt(index, powerW, temperatureC))),
  };
}

function meanAt(count: number, temperaturesAt: TemperatureDraws['temperaturesAt'], powerW: number): number {
  const temperaturesC = new Float64Array(count);
  temperaturesAt(powerW, temperaturesC);
  let sum = 0;
  for (let i = 0; i < count; i++) sum += temperaturesC[i];
  return sum / count;
}
