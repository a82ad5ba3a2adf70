import { EigenvalueDecomposition, Matrix } from 'ml-matrix';
import { NORMAL_95, normalQuantile, studentTQuantile } from '../numerics/distributions.js';
import type { EstimatedNumber } from '../numerics/estimate.js';
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
  const departures = new Float64Array(covariance.parameters.length);
  const by = (index: number): number => (index < 0 ? 0 : departures[index]);
  return Array.from({ length: DRAW_COUNT }, (_, draw) => {
    const first = draw * dimensionCount;
    departures.fill(0);
    for (let d = 0; d < directions.length; d++) {
      const score = stretch * scores[first + 2 + d];
      const direction = directions[d];
      for (let i = 0; i < used.length; i++) departures[used[i]] += score * direction[i];
    }
    const factor = Math.exp(factorSpread * stretch * scores[first]);
    const powerExponent =
      cooler.powerExponent +
      (indices.exponent >= 0
        ? by(indices.exponent)
        : resistanceLaw.exponentStandardError *
          scores[first + 1] *
          (resistanceLaw.exponentSource === 'fitted' ? stretch : 1));
    let sum = 0;
    let keptSum = 0;
    // A stage that nearly vanishes may be drawn below 0: it is left out, and the total kept.
    const kept = indices.resistances.map((index, k) => {
      const wantedKPerW = cooler.resistancesKPerW[k] + by(index);
      const keptKPerW = Math.max(0, wantedKPerW);
      sum += wantedKPerW;
      keptSum += keptKPerW;
      return keptKPerW;
    });
    const scale = (factor * Math.max(sum, 1e-3 * totalKPerW)) / keptSum;
    return {
      timeConstantsS: cooler.timeConstantsS.map(
        (timeConstantS, k) => timeConstantS * Math.exp(by(indices.timeConstants[k])),
      ),
      resistancesKPerW: kept.map((resistance) => scale * resistance),
      ...(cooler.sensorLagS === undefined
        ? {}
        : { sensorLagS: cooler.sensorLagS * Math.exp(by(indices.lag)) }),
      powerExponent: Math.min(0.5, Math.max(-0.5, powerExponent)),
      atPowerW: cooler.atPowerW,
    };
  });
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
  const sorted = Float64Array.from(draws).sort();
  const finite = sorted.filter(Number.isFinite);
  const mean = finite.reduce((sum, draw) => sum + draw, 0) / finite.length;
  const squares = finite.reduce((sum, draw) => sum + (draw - mean) ** 2, 0);
  return {
    kind: 'estimated',
    value,
    standardError: Math.sqrt(squares / (finite.length - 1)),
    interval95: [quantileOfSorted(sorted, 0.025), quantileOfSorted(sorted, 0.975)],
    extrapolated,
  };
}

/** Quantile of draws in ascending order, infinite ones last. */
export function quantileOfSorted(sorted: Float64Array, share: number): number {
  return sorted[Math.round(share * (sorted.length - 1))];
}
