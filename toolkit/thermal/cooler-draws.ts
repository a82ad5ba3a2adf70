import { EigenvalueDecomposition, Matrix } from 'ml-matrix';
import { NORMAL_95, normalQuantile, studentTQuantile } from '../numerics/distributions.js';
import type { EstimatedNumber } from '../numerics/estimate.js';
import { quantileOf } from '../numerics/order-statistic.js';
import { quasiRandomPoints } from '../numerics/quasi-random.js';
import { seededRandom } from '../numerics/random.js';
import type { CoolerModel } from './cooler-model.js';
import type { CoolerNumbers } from './cooler-numbers.js';

/** A power of two keeps the balance of the quasi-random points. */
const DRAW_COUNT = 1024;
/** Dimensions drawn quasi-randomly; what little is left beyond them is drawn at random. */
const QUASI_DIMENSIONS = 10;
/** The draws are always the same ones, so that the same question has the same answer. */
const DRAW_SEED = 20_031;

/**
 * Draws of a cooler's numbers from its uncertainty: the time constants, sensor lag, exponent and resistances together, by
 * their covariance; what the total resistance is less certain than that says (other candidate structures, mounts,
 * the air) as a common factor; an exponent that was assumed by its stated spread. Normal, stretched to the quantile of
 * Student's t.
 */
export function coolerDraws(model: CoolerModel, cooler: CoolerNumbers): readonly CoolerNumbers[] {
  const known = drawsOf.get(model);
  if (known !== undefined) return known;
  const draws = makeDraws(model, cooler);
  drawsOf.set(model, draws);
  return draws;
}

/** A model asked again and again, as by a page on which somebody drags, is drawn from once. */
const drawsOf = new WeakMap<CoolerModel, readonly CoolerNumbers[]>();

function makeDraws(model: CoolerModel, cooler: CoolerNumbers): readonly CoolerNumbers[] {
  const { resistanceLaw, covariance } = model;
  const stretch = studentTQuantile(0.975, resistanceLaw.degreesOfFreedom) / NORMAL_95;
  const places = (name: string): number => covariance.parameters.indexOf(name);
  const indices = {
    timeConstants: cooler.timeConstantsS.map((_, k) => places(`logTimeConstantS[${k + 1}]`)),
    resistances: cooler.resistancesKPerW.map((_, k) => places(`resistanceKPerW[${k + 1}]`)),
    lag: places('logSensorLagS'),
    exponent: places('powerExponent'),
  };
  const used = [
    ...indices.timeConstants,
    ...indices.resistances,
    ...(cooler.sensorLagS === undefined ? [] : [indices.lag]),
    indices.exponent,
  ].filter((index) => index >= 0);
  const directions = principalDirections(used.map((a) => used.map((b) => covariance.matrix[a][b])));

  const totalKPerW = cooler.resistancesKPerW.reduce((sum, resistance) => sum + resistance, 0);
  const known = indices.resistances.filter((index) => index >= 0);
  let fittedVariance = 0;
  for (const a of known) for (const b of known) fittedVariance += covariance.matrix[a][b];
  const factorSpread =
    Math.sqrt(Math.max(0, resistanceLaw.resistanceStandardErrorKPerW ** 2 - fittedVariance)) / totalKPerW;

  const dimensionCount = 2 + directions.length;
  const scores = normalScores(dimensionCount);
  // What the draw at hand adds to each fitted number; those without uncertainty of their own share a place that stays 0.
  const departures = new Float64Array(used.length + 1);
  const placeOf = (index: number): number => (index < 0 ? used.length : used.indexOf(index));
  const timeConstantPlaces = indices.timeConstants.map(placeOf);
  const resistancePlaces = indices.resistances.map(placeOf);
  const lagPlace = placeOf(indices.lag);
  const exponentPlace = placeOf(indices.exponent);
  const assumedSpread =
    indices.exponent >= 0
      ? 0
      : resistanceLaw.exponentStandardError * (resistanceLaw.exponentSource === 'fitted' ? stretch : 1);
  const drawAt = (draw: number): CoolerNumbers => {
    const first = draw * dimensionCount;
    departures.fill(0);
    for (let d = 0; d < directions.length; d++) {
      const score = stretch * scores[first + 2 + d];
      const direction = directions[d];
      for (let i = 0; i < direction.length; i++) departures[i] += score * direction[i];
    }
    const powerExponent =
      cooler.powerExponent + departures[exponentPlace] + assumedSpread * scores[first + 1];
    const timeConstantsS = cooler.timeConstantsS.slice();
    const resistancesKPerW = cooler.resistancesKPerW.slice();
    let sum = 0;
    let keptSum = 0;
    for (let k = 0; k < resistancesKPerW.length; k++) {
      timeConstantsS[k] *= Math.exp(departures[timeConstantPlaces[k]]);
      resistancesKPerW[k] += departures[resistancePlaces[k]];
      sum += resistancesKPerW[k];
      // A stage that nearly vanishes may be drawn below 0: it is left out, and the total kept.
      resistancesKPerW[k] = Math.max(0, resistancesKPerW[k]);
      keptSum += resistancesKPerW[k];
    }
    const factor = Math.exp(factorSpread * stretch * scores[first]);
    const scale = (factor * Math.max(sum, 1e-3 * totalKPerW)) / keptSum;
    for (let k = 0; k < resistancesKPerW.length; k++) resistancesKPerW[k] *= scale;
    const numbers = {
      timeConstantsS,
      resistancesKPerW,
      powerExponent: Math.min(0.5, Math.max(-0.5, powerExponent)),
      atPowerW: cooler.atPowerW,
    };
    return cooler.sensorLagS === undefined
      ? numbers
      : { ...numbers, sensorLagS: cooler.sensorLagS * Math.exp(departures[lagPlace]) };
  };
  return Array.from({ length: DRAW_COUNT }, (_, draw) => drawAt(draw));
}

/**
 * Independent standard normal scores, one row a draw, the first ten dimensions quasi-random. They depend on nothing but
 * their number: a cooler asked at one fan speed after the other has the same ones.
 */
function normalScores(dimensionCount: number): Float64Array {
  const known = scoresBySize.get(dimensionCount);
  if (known !== undefined) return known;
  const quasiCount = Math.min(dimensionCount, QUASI_DIMENSIONS);
  const points = quasiRandomPoints(DRAW_COUNT, quasiCount, DRAW_SEED);
  const random = seededRandom(DRAW_SEED);
  const scores = new Float64Array(DRAW_COUNT * dimensionCount);
  for (let draw = 0; draw < DRAW_COUNT; draw++)
    for (let d = 0; d < dimensionCount; d++)
      scores[draw * dimensionCount + d] =
        d < quasiCount ? normalQuantile(points[draw * quasiCount + d]) : random.normal();
  scoresBySize.set(dimensionCount, scores);
  return scores;
}

const scoresBySize = new Map<number, Float64Array>();

/** Vectors whose independent standard normal multiples have the covariance: eigenvectors times root eigenvalues, the longest first. */
function principalDirections(covariance: readonly (readonly number[])[]): readonly (readonly number[])[] {
  if (covariance.length === 0) return [];
  // In units of the standard deviations, so that kelvin per watt and logarithms are of one size.
  const scales = covariance.map((row, i) => Math.sqrt(Math.max(row[i], Number.MIN_VALUE)));
  const correlation = new Matrix(
    covariance.map((row, i) => row.map((value, j) => value / (scales[i] * scales[j]))),
  );
  const { realEigenvalues, eigenvectorMatrix } = new EigenvalueDecomposition(correlation, {
    assumeSymmetric: true,
  });
  return realEigenvalues
    .map((eigenvalue, column) => ({ eigenvalue: Math.max(0, eigenvalue), column }))
    .sort((a, b) => b.eigenvalue - a.eigenvalue)
    .map(({ eigenvalue, column }) =>
      eigenvectorMatrix
        .getColumn(column)
        .map((component, i) => component * scales[i] * Math.sqrt(eigenvalue)),
    );
}

/** A number with the spread of its draws; the few that may be infinite count in the interval, not in the spread. */
export function estimateFromDraws(
  value: number,
  draws: ArrayLike<number>,
  extrapolated: boolean,
): EstimatedNumber {
  let count = 0;
  let sum = 0;
  for (let i = 0; i < draws.length; i++)
    if (Number.isFinite(draws[i])) {
      count++;
      sum += draws[i];
    }
  const mean = sum / count;
  let squares = 0;
  for (let i = 0; i < draws.length; i++) if (Number.isFinite(draws[i])) squares += (draws[i] - mean) ** 2;
  return {
    kind: 'estimated',
    value,
    standardError: Math.sqrt(squares / (count - 1)),
    interval95: [quantileOf(draws, 0.025), quantileOf(draws, 0.975)],
    extrapolated,
  };
}
