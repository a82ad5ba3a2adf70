import type { ResistanceLaw } from '../../thermal/cooler-model.js';
import type { FanScores, StandardDraws } from './standard-draws.js';

/** Draws of a cooler itself, whatever room, enclosure and limit it is asked for. */
export interface DieDraws {
  /** Thermal resistance at the fan speed of the cooler's runs times reference power, K. */
  readonly dieRiseK: Float64Array;
  /** One less the exponent of the resistance law. */
  readonly riseOrder: Float64Array;
  readonly riseOrderRange: readonly [lowest: number, highest: number];
  readonly leastRiseK: number;
  /** What the fan curve leaves open. */
  readonly fan: FanScores;
  /** Means; those of order and score are weighted with the rise. */
  readonly means: { readonly dieRiseK: number; readonly riseOrder: number; readonly fanScore: number };
}

/** Exponents of R ∝ ΔT^−p, p from 0 (fan fixed) to 1/3 (turbulent natural convection), turned to R ∝ P^−q. */
const EXPONENT_RANGE: readonly [number, number] = [0, 0.25];

/**
 * Draws of resistance and exponent: a joint Student t with the law's degrees of freedom and correlation, or a normal prior for
 * an exponent that is assumed; exponents are clipped to [0, 0.25], widened to the law's own exponent where that lies outside.
 * Kept: a page that drags the room or the limit asks for the same ones again and again.
 */
export function dieDraws(law: ResistanceLaw, standard: StandardDraws): DieDraws {
  const byLaw = kept.get(standard) ?? new WeakMap<ResistanceLaw, DieDraws>();
  kept.set(standard, byLaw);
  const draws = byLaw.get(law) ?? makeDraws(law, standard);
  byLaw.set(law, draws);
  return draws;
}

const kept = new WeakMap<StandardDraws, WeakMap<ResistanceLaw, DieDraws>>();

function makeDraws(
  law: ResistanceLaw,
  { count, resistanceScores, exponentScores, fan }: StandardDraws,
): DieDraws {
  const dieRiseK = new Float64Array(count);
  const riseOrder = new Float64Array(count);
  const lowest = Math.min(EXPONENT_RANGE[0], law.powerExponent);
  const highest = Math.max(EXPONENT_RANGE[1], law.powerExponent);
  const alone = Math.sqrt(1 - law.correlation ** 2);
  for (let i = 0; i < count; i++) {
    const exponent =
      law.powerExponent +
      law.exponentStandardError * (law.correlation * resistanceScores[i] + alone * exponentScores[i]);
    dieRiseK[i] =
      (law.thermalResistanceKPerW + law.resistanceStandardErrorKPerW * resistanceScores[i]) * law.atPowerW;
    riseOrder[i] = 1 - Math.min(highest, Math.max(lowest, exponent));
  }
  return summarised(dieRiseK, riseOrder, fan);
}

/**
 * The draws whose rises are positive in all sets: loads under one cap go by the same draws, and a resistance that is not
 * positive is left out of a truncated distribution.
 */
export function positiveEverywhere(sets: readonly DieDraws[]): {
  readonly sets: readonly DieDraws[];
  /** Their places; `undefined` where all are positive. */
  readonly places?: Uint32Array;
} {
  if (sets.every(({ leastRiseK }) => leastRiseK > 0)) return { sets };
  const all = sets[0].dieRiseK.length;
  const places = Uint32Array.from({ length: all }, (_, i) => i).filter((i) =>
    sets.every(({ dieRiseK }) => dieRiseK[i] > 0),
  );
  return {
    places,
    sets: sets.map(({ dieRiseK, riseOrder, fan: { scores, range } }) =>
      summarised(picked(dieRiseK, places), picked(riseOrder, places), {
        scores: picked(scores, places),
        range,
      }),
    ),
  };
}

/** The values at some places. */
export function picked(values: Float64Array, places: Uint32Array): Float64Array {
  const found = new Float64Array(places.length);
  for (let k = 0; k < places.length; k++) found[k] = values[places[k]];
  return found;
}

function summarised(dieRiseK: Float64Array, riseOrder: Float64Array, fan: FanScores): DieDraws {
  const { scores } = fan;
  let leastRiseK = Number.POSITIVE_INFINITY;
  let leastOrder = Number.POSITIVE_INFINITY;
  let greatestOrder = Number.NEGATIVE_INFINITY;
  let [riseSum, weightedOrders, weightedScores] = [0, 0, 0];
  for (let i = 0; i < dieRiseK.length; i++) {
    const riseK = dieRiseK[i];
    const order = riseOrder[i];
    leastRiseK = Math.min(leastRiseK, riseK);
    leastOrder = Math.min(leastOrder, order);
    greatestOrder = Math.max(greatestOrder, order);
    riseSum += riseK;
    weightedOrders += riseK * order;
    weightedScores += riseK * scores[i];
  }
  return {
    dieRiseK,
    riseOrder,
    riseOrderRange: [leastOrder, greatestOrder],
    leastRiseK,
    fan,
    means: {
      dieRiseK: riseSum / dieRiseK.length,
      riseOrder: weightedOrders / riseSum,
      fanScore: weightedScores / riseSum,
    },
  };
}
