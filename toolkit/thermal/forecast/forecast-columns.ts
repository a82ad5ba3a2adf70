import { airAtDie } from '../air-at-die.js';
import { ASSUMED_EXPONENT } from '../assumed-exponent.js';
import { LOWEST_POWER_SHARE } from '../convection.js';
import { allocatePoleResponse, fillPoleResponse } from '../pole-response.js';
import type { ForecastRecord } from './forecast-record.js';

/** One unknown of the linear model: what one unit of it adds to the rise, and what is believed of it beforehand. */
export interface ForecastColumn {
  readonly values: Float64Array;
  readonly mean: number;
  readonly standardDeviation: number;
  /** Whether the unknown is a part of the total resistance. */
  readonly resistance: boolean;
}

/** The linear model for any pair of middle and slowest time constants. */
export interface ForecastColumns {
  /** Measured temperature over the air as the die sees it through a cooler that slow. */
  readonly riseOf: (slowestS: number) => Float64Array;
  readonly columnsOf: (slowestS: number, middleS: number) => readonly ForecastColumn[];
}

/** What settles within half a minute is described well enough by stages at these time constants, s. */
const FAST_S = [0.8, 2.5, 7];

/**
 * Board, socket and case follow for a quarter of an hour and let a little less heat pass beside the cooler as they
 * warm: a stage of this time constant, s, with this share of the resistance, known no better than by half.
 */
const SURROUNDINGS_S = 900;
const SURROUNDINGS_SHARE = 0.003;

/** Prior mean and standard deviation of each stage's resistance, as shares of rise over power so far: wide. */
const SHARES = {
  fast: [0.12, 0.15],
  middle: [0.2, 0.3],
  slowest: [0.6, 0.6],
  surroundings: [SURROUNDINGS_SHARE, SURROUNDINGS_SHARE],
} as const;

/** How far, as a share of the rise so far, each stage may be from where held power would have brought it over a gap. */
const GAP_SHARE = 0.3;
/** How far in W and as a share of it the earlier power may be off in whose steady state the run started. */
const START_SHARE = 0.5;
const START_W = 3;

/** Responses of one stage: to the power from the start, and of a free start at each place where one is needed. */
interface StageResponses {
  readonly power: Float64Array;
  readonly decay: Float64Array;
  readonly starts: readonly Float64Array[];
}

/**
 * rise(t) = Σₖ rₖ xₖ(t) + R b(t) + free starts: stages of given time constants, which makes it linear in the resistances;
 * the start and the assumed exponent of convection, which are not, to first order around `startPowerW` and its mean.
 *
 * Convection that improves as the fins warm lets less heat through before: C dT/dt = P − T / R(T). To first order in
 * its exponent the rise departs by b with τₙ db/dt = g(xₙ) − xₙ − b, g(x) = x · (x / P₀)^(−q): the heat capacity takes up
 * the difference as slowly as everything else. Taken without that delay, as if the fins were settled at every moment,
 * the rise to come is overrated by half a kelvin with a slow cooler.
 *
 * @param transform - applied to every column: block means and whitening for a fit, nothing for a prediction
 */
export function forecastColumns(
  record: ForecastRecord,
  startPowerW: number,
  roughResistanceKPerW: number,
  transform: (samples: Float64Array) => Float64Array,
): ForecastColumns {
  const { timeS, ambientC, temperatureC, loadPowerW } = record;
  const count = timeS.length;
  const roughRiseK = roughResistanceKPerW * loadPowerW;
  const freeStarts = [...(record.startsUnderLoad ? [0] : []), ...record.gapEnds];
  const response = allocatePoleResponse(count);

  /** Across a gap the power is taken as held; the free start behind it makes good for that. */
  const respond = (timeConstantS: number): StageResponses => {
    fillPoleResponse(timeConstantS, record, startPowerW, response);
    const decay = response.decay.slice();
    return {
      decay,
      power: response.value.slice(),
      starts: freeStarts.map((first) => {
        const start = new Float64Array(count);
        for (let i = first; i < count; i++) start[i] = Math.exp((timeS[first] - timeS[i]) / timeConstantS);
        return start;
      }),
    };
  };
  const transformed = ({ power, starts }: StageResponses) => ({
    power: transform(power),
    starts: starts.map(transform),
  });

  const fastResponses = FAST_S.map(respond);
  const fast = fastResponses.map(transformed);
  const surroundings = transformed(respond(SURROUNDINGS_S));
  const middles = new Map<
    number,
    { readonly own: ReturnType<typeof transformed>; readonly decay: Float64Array }
  >();
  const middleOf = (middleS: number) => {
    const known = middles.get(middleS);
    if (known !== undefined) return known;
    const responses = respond(middleS);
    const made = { own: transformed(responses), decay: transform(responses.decay) };
    middles.set(middleS, made);
    return made;
  };
  const fastDecay = transform(fastResponses[FAST_S.length - 1].decay);

  let slowest:
    | { readonly slowestS: number; readonly make: (middleS: number) => readonly ForecastColumn[] }
    | undefined;
  const slowestOf = (slowestS: number): NonNullable<typeof slowest> => {
    const responses = respond(slowestS);
    const own = transformed(responses);
    const slowDecay = transform(responses.decay);
    const bendDrive = new Float64Array(count);
    const exponentDrive = new Float64Array(count);
    for (let i = 0; i < count; i++) {
      const x = responses.power[i];
      const share = Math.max(x / loadPowerW, LOWEST_POWER_SHARE);
      const convection = share ** -ASSUMED_EXPONENT.mean;
      bendDrive[i] = (convection - 1) * x;
      exponentDrive[i] = -roughResistanceKPerW * convection * Math.log(share) * x;
    }
    const bent = transform(followed(bendDrive, timeS, slowestS));
    const exponent = transform(followed(exponentDrive, timeS, slowestS));
    const stage = (
      { power, starts }: ReturnType<typeof transformed>,
      [mean, spread]: readonly [number, number],
    ): ForecastColumn[] => [
      {
        values: power.map((value, i) => value + bent[i]),
        mean: mean * roughResistanceKPerW,
        standardDeviation: spread * roughResistanceKPerW,
        resistance: true,
      },
      ...starts.map((values, s) => ({
        values,
        mean: 0,
        standardDeviation: (s === 0 && record.startsUnderLoad ? 1 : GAP_SHARE) * spread * roughRiseK,
        resistance: false,
      })),
    ];
    const fixed = [
      ...fast.flatMap((responsesOfStage) => stage(responsesOfStage, SHARES.fast)),
      ...stage(own, SHARES.slowest),
      ...stage(surroundings, SHARES.surroundings),
      {
        values: exponent,
        mean: 0,
        standardDeviation: ASSUMED_EXPONENT.standardDeviation,
        resistance: false,
      },
    ];
    const make = (middleS: number): readonly ForecastColumn[] => {
      const middle = middleOf(middleS);
      const columns = [...fixed, ...stage(middle.own, SHARES.middle)];
      if (record.startsUnderLoad) return columns;
      // An idle start is an equilibrium at one earlier power, shared by all stages in rough proportion.
      const values = slowDecay.map(
        (decay, i) => roughResistanceKPerW * (0.5 * decay + 0.2 * middle.decay[i] + 0.3 * fastDecay[i]),
      );
      const standardDeviation = START_SHARE * startPowerW + START_W;
      return [...columns, { values, mean: 0, standardDeviation, resistance: false }];
    };
    return { slowestS, make };
  };

  return {
    riseOf: (slowestS) => {
      const air = airAtDie(timeS, ambientC, slowestS);
      return transform(temperatureC.map((temperature, i) => temperature - air[i]));
    },
    columnsOf: (slowestS, middleS) => {
      if (slowest?.slowestS !== slowestS) slowest = slowestOf(slowestS);
      return slowest.make(middleS);
    },
  };
}

/** What a stage makes of a drive that begins settled; between two samples the drive is their mean. */
function followed(drive: Float64Array, timeS: Float64Array, timeConstantS: number): Float64Array {
  const level = new Float64Array(drive.length);
  level[0] = drive[0];
  for (let i = 1; i < level.length; i++) {
    const between = (drive[i - 1] + drive[i]) / 2;
    level[i] = between + Math.exp((timeS[i - 1] - timeS[i]) / timeConstantS) * (level[i - 1] - between);
  }
  return level;
}
