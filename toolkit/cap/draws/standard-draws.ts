import { normalCdf, normalQuantile, studentTQuantile } from '../../numerics/distributions.js';
import { quasiRandomPoints } from '../../numerics/quasi-random.js';

/** The uncertain inputs of a cap, one dimension of the quasi-random points each. */
const RESISTANCE = 0;
const EXPONENT = 1;
const AMBIENT = 2;
const ENCLOSURE = 3;
const FAN = 4;

/** Draws of unit scale from which every scenario's draws are made by shifting and stretching. */
export interface StandardDraws {
  readonly count: number;
  /** Student t of the model's degrees of freedom. */
  readonly resistanceScores: Float64Array;
  /** Uncorrelated with the resistance scores: what they leave open in the exponent. */
  readonly exponentScores: Float64Array;
  readonly ambient: UniformDraws;
  readonly enclosure: UniformDraws;
  /** 0 where the fan's speed is not to be chosen. */
  readonly fan: FanScores;
}

/** Normal scores, and the least and the greatest of them. */
export interface FanScores {
  readonly scores: Float64Array;
  readonly range: readonly [lowest: number, highest: number];
}

/** Draws between 0 and 1, and the same as normal scores, worked out when first asked for. */
export interface UniformDraws {
  readonly uniforms: Float64Array;
  normalScores(): Float64Array;
}

/** Loads of their own degrees of freedom under one cap take turns. */
const MOST_KEPT = 4;
const kept = new Map<string, StandardDraws>();

/**
 * Quasi-random points in four dimensions, or five, as uniform draws, normal scores and Student scores.
 *
 * With a joint Student t of ν degrees of freedom, the second variable given that the first is t₁ is again a
 * Student t, of ν + 1 degrees of freedom, scaled by √((ν + t₁²)/(ν + 1)); with an exponent that is a prior, it is
 * normal. The last sets are kept, since a page that drags an input asks for the same one again and again; the
 * answer does not depend on it.
 */
export function standardDraws(options: {
  readonly count: number;
  readonly seed: number;
  readonly degreesOfFreedom: number;
  readonly exponentIsFitted: boolean;
  readonly withFan?: boolean;
}): StandardDraws {
  const { count, seed, degreesOfFreedom, exponentIsFitted, withFan = false } = options;
  const key = `${count} ${seed} ${degreesOfFreedom} ${exponentIsFitted} ${withFan}`;
  const known = kept.get(key);
  if (known !== undefined) return known;
  const dimensionCount = withFan ? FAN + 1 : ENCLOSURE + 1;
  const points = quasiRandomPoints(count, dimensionCount, seed);
  const uniforms = (dimension: number) => {
    const column = new Float64Array(count);
    for (let i = 0; i < count; i++) column[i] = points[i * dimensionCount + dimension];
    return column;
  };
  const resistanceScores = studentScores(uniforms(RESISTANCE), degreesOfFreedom);
  const exponentUniforms = uniforms(EXPONENT);
  const exponentScores = exponentIsFitted
    ? studentScores(exponentUniforms, degreesOfFreedom + 1)
    : normalScores(exponentUniforms);
  if (exponentIsFitted && degreesOfFreedom < NORMAL_FROM)
    for (let i = 0; i < count; i++)
      exponentScores[i] *= Math.sqrt((degreesOfFreedom + resistanceScores[i] ** 2) / (degreesOfFreedom + 1));
  const draws = {
    count,
    resistanceScores,
    exponentScores,
    ambient: uniformDraws(uniforms(AMBIENT)),
    enclosure: uniformDraws(uniforms(ENCLOSURE)),
    fan: withRange(withFan ? normalScores(uniforms(FAN)) : new Float64Array(count)),
  };
  if (kept.size >= MOST_KEPT) kept.delete(kept.keys().next().value!);
  kept.set(key, draws);
  return draws;
}

function uniformDraws(uniforms: Float64Array): UniformDraws {
  let scores: Float64Array | undefined;
  return {
    uniforms,
    normalScores() {
      scores ??= normalScores(uniforms);
      return scores;
    },
  };
}

function withRange(scores: Float64Array): FanScores {
  const range = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY] as [number, number];
  for (const score of scores) {
    range[0] = Math.min(range[0], score);
    range[1] = Math.max(range[1], score);
  }
  return { scores, range };
}

function normalScores(uniforms: Float64Array): Float64Array {
  const scores = new Float64Array(uniforms.length);
  for (let i = 0; i < scores.length; i++) scores[i] = normalQuantile(uniforms[i]);
  return scores;
}

/** Knots per unit of the normal score; the interpolated Student score is then good to better than 1e-5. */
const KNOTS_PER_UNIT = 8;
/** From here on Student's t and the normal distribution differ by less than that. */
const NORMAL_FROM = 1e6;

/**
 * Student scores by way of the normal score z: asinh(t/√ν) is a smooth odd function of z for every ν, so cubic
 * interpolation between a few dozen exact quantiles replaces thousands of inversions.
 */
function studentScores(uniforms: Float64Array, degreesOfFreedom: number): Float64Array {
  const scores = normalScores(uniforms);
  if (degreesOfFreedom >= NORMAL_FROM) return scores;
  let largest = 0;
  for (let i = 0; i < scores.length; i++) largest = Math.max(largest, Math.abs(scores[i]));
  const scale = Math.sqrt(degreesOfFreedom);
  const knots = studentKnots(degreesOfFreedom, Math.ceil(largest * KNOTS_PER_UNIT) + 4);
  for (let i = 0; i < scores.length; i++) {
    const place = Math.abs(scores[i]) * KNOTS_PER_UNIT;
    const k = Math.floor(place);
    const u = place - k;
    const a = knots[k];
    const b = knots[k + 1];
    const c = knots[k + 2];
    const d = knots[k + 3];
    // Lagrange's cubic through four equidistant knots, the argument in the middle interval.
    const interpolated =
      (-u * (u - 1) * (u - 2) * a) / 6 +
      ((u + 1) * (u - 1) * (u - 2) * b) / 2 -
      ((u + 1) * u * (u - 2) * c) / 2 +
      ((u + 1) * u * (u - 1) * d) / 6;
    scores[i] = Math.sign(scores[i]) * scale * Math.sinh(interpolated);
  }
  return scores;
}

/** Degrees of freedom are those of a few models, and their knots cost as much as thousands of draws. */
const MOST_KNOTS_KEPT = 16;
const keptKnots = new Map<number, Float64Array>();

/** asinh(t/√ν) at z = (k − 1) / KNOTS_PER_UNIT for knot k, so that the first interval has a neighbour on its left. */
function studentKnots(degreesOfFreedom: number, count: number): Float64Array {
  const known = keptKnots.get(degreesOfFreedom);
  if (known !== undefined && known.length >= count) return known;
  const scale = Math.sqrt(degreesOfFreedom);
  const knots = new Float64Array(count);
  for (let k = 2; k < count; k++) {
    const quantile = -studentTQuantile(normalCdf((1 - k) / KNOTS_PER_UNIT), degreesOfFreedom);
    knots[k] = Math.asinh(quantile / scale);
  }
  knots[0] = -knots[2];
  if (keptKnots.size >= MOST_KNOTS_KEPT) keptKnots.delete(keptKnots.keys().next().value!);
  keptKnots.set(degreesOfFreedom, knots);
  return knots;
}
