import { ArgumentError, type KnownNames, requireKnownNames, requireNumber } from '../errors.js';
import { chiSquareQuantile, studentTQuantile } from './distributions.js';
import type { Estimate } from './estimate.js';
import { estimated, unavailable } from './estimates.js';
import { type LeastSquaresResult, leastSquares } from './least-squares/least-squares.js';
import type { Termination } from './least-squares/termination.js';

/** One point of a line, with what is known of its uncertainty. */
export interface LinePoint {
  readonly x: number;
  readonly y: number;
  /** Standard uncertainty of x, in its unit, at least 0. Default 0. */
  readonly xStandardError?: number;
  /** Standard uncertainty of y, in its unit, above 0: given for all points or for none. */
  readonly yStandardError?: number;
}

const POINT_NAMES: KnownNames<LinePoint> = {
  x: true,
  y: true,
  xStandardError: true,
  yStandardError: true,
};

/** A straight line y = intercept + slope · x with the uncertainty of both. */
export interface WeightedLine {
  readonly intercept: Estimate;
  readonly slope: Estimate;
  /** Of intercept and slope; empty where neither has an uncertainty. */
  readonly covariance: readonly (readonly number[])[];
  /** Sum of squared residuals, each over its standard uncertainty where uncertainties were given. */
  readonly chiSquare: number;
  /** Number of points less two. */
  readonly degreesOfFreedom: number;
  /** Where the uncertainties come from: the ones given for the points, or their scatter about the line. */
  readonly uncertaintyFrom: 'points' | 'scatter';
  /** Standard deviation of y about the line, where no uncertainty was given and more than two points were. */
  readonly residualStandardDeviation?: number;
  /**
   * Whether the scatter is no larger than the uncertainties given allow in 95 % of cases (χ² test); missing where
   * there is nothing to test.
   */
  readonly isConsistent?: boolean;
  readonly termination: Termination;
}

/** A new reading of y, for which x is wanted. */
export interface LineReading {
  readonly y: number;
  /**
   * Standard uncertainty of y, at least 0. Default: of the mean of `readingCount` readings that scatter as the points
   * do, or 0 where the points' own uncertainties were given.
   */
  readonly yStandardError?: number;
  /** Number of readings of which y is the mean. Default 1. */
  readonly readingCount?: number;
}

const READING_NAMES: KnownNames<LineReading> = { y: true, yStandardError: true, readingCount: true };

/**
 * Straight line through points with uncertain x, uncertain y, or both.
 *
 * Minimises Σ (yᵢ − a − b xᵢ)²/(u²(yᵢ) + b² u²(xᵢ)), which is the sum over both coordinates at the best points of the
 * line [ISO28037, cl. 6 and 7]; the derivatives are those of that problem, hence its covariance [York2004]. With
 * uncertainties given, those of the line follow from them alone, and the χ² test says whether the scatter agrees;
 * without, y is taken as equally uncertain and the scatter tells, with Student's t.
 *
 * Assumes independent points, and no correlation between the x and y of a point.
 *
 * @param points - at least two with different x
 * @returns intercept, slope, covariance and χ²
 * @throws ArgumentError if there are too few points, a number is not finite, an uncertainty is negative, or
 * uncertainties of y are given for some points only
 * @example
 * // ISO/TS 28037, equal weights:
 * const y = [3.3, 5.6, 7.1, 9.3, 10.7, 12.1];
 * const line = weightedLine(y.map((value, i) => ({ x: i + 1, y: value, yStandardError: 0.5 })));
 * line.slope; // => ({ kind: 'estimated', value: 1.7571429, standardError: 0.1195229 }) within 1e-7
 * line.isConsistent; // => true
 */
export function weightedLine(points: readonly LinePoint[]): WeightedLine {
  const isStated = requirePoints(points);
  // Moved to the middle and scaled to the spread, so that nothing is lost for points far from zero.
  const centreX = meanOf(points.map(({ x }) => x));
  const centreY = meanOf(points.map(({ y }) => y));
  const scaleX = Math.max(...points.map(({ x }) => Math.abs(x - centreX)));
  const moved = points.map(({ x, y, xStandardError = 0, yStandardError = 1 }) => ({
    x: (x - centreX) / scaleX,
    y: y - centreY,
    ux: xStandardError / scaleX,
    uy: yStandardError,
  }));
  const fit = fitMoved(moved);
  const [height, tilt] = fit.parameters;
  const slope = tilt / scaleX;
  const intercept = centreY + height - slope * centreX;
  const { degreesOfFreedom, sumOfSquares, termination } = fit;
  const base = { chiSquare: sumOfSquares, degreesOfFreedom, termination };

  const scatter = degreesOfFreedom > 0 ? sumOfSquares / degreesOfFreedom : undefined;
  const variance = isStated ? 1 : scatter;
  if (variance === undefined)
    return {
      intercept: unavailable('too-few-points', intercept),
      slope: unavailable('too-few-points', slope),
      covariance: [],
      uncertaintyFrom: 'scatter',
      ...base,
    };
  const [hh, ht, tt] = inverseNormalMatrix(fit.jacobian).map((value) => value * variance);
  const slopeVariance = tt / scaleX ** 2;
  const covariance = ht / scaleX - centreX * slopeVariance;
  const interceptVariance = hh - (2 * centreX * ht) / scaleX + centreX ** 2 * slopeVariance;
  const options = isStated ? {} : { degreesOfFreedom };
  return {
    intercept: estimated(intercept, Math.sqrt(interceptVariance), options),
    slope: estimated(slope, Math.sqrt(slopeVariance), options),
    covariance: [
      [interceptVariance, covariance],
      [covariance, slopeVariance],
    ],
    uncertaintyFrom: isStated ? 'points' : 'scatter',
    ...base,
    ...(isStated || scatter === undefined ? {} : { residualStandardDeviation: Math.sqrt(scatter) }),
    ...(isStated && degreesOfFreedom > 0
      ? { isConsistent: sumOfSquares <= chiSquareQuantile(0.95, degreesOfFreedom) }
      : {}),
  };
}

/**
 * y on a line at a given x, with the uncertainty of the line.
 *
 * u²(y) = u²(a) + 2 x cov(a, b) + x² u²(b) [ISO28037, cl. 11]; a new reading there scatters by its own besides.
 *
 * @param line - from `weightedLine`
 * @param x - in the unit of the points
 * @throws ArgumentError if x is not a finite number
 * @example
 * const y = [3.3, 5.6, 7.1, 9.3, 10.7, 12.1];
 * const line = weightedLine(y.map((value, i) => ({ x: i + 1, y: value, yStandardError: 0.5 })));
 * lineAt(line, 3.5); // => ({ kind: 'estimated', value: 8.0166667, standardError: 0.2041241 }) within 1e-7
 */
export function lineAt(line: WeightedLine, x: number): Estimate {
  requireNumber(x, { caller: 'lineAt', argument: 'x' });
  const { intercept, slope } = line;
  if (intercept.kind !== 'estimated' || slope.kind !== 'estimated') return unavailable('too-few-points');
  return estimated(
    intercept.value + slope.value * x,
    Math.sqrt(Math.max(0, varianceAt(line, x))),
    intervalOptions(line),
  );
}

/**
 * x at which a line reaches a given y: calibration turned round, or the power at which a limit is met.
 *
 * x₀ = (y₀ − a)/b with u²(x₀) = [u²(y₀) + u²(a) + 2 x₀ cov(a, b) + x₀² u²(b)]/b² [ISO28037, cl. 11]; the 95 % interval
 * is Fieller's: all x at which a + b x differs from y₀ by no more than its uncertainty allows [Fieller1954]. Unlike
 * x₀ ± t u(x₀) it is not symmetric, and it is unbounded where the slope is not told from 0: then the answer is
 * `not-identifiable`.
 *
 * @param line - from `weightedLine`
 * @param reading - the new y and its uncertainty
 * @throws ArgumentError if a number is not finite or out of its range
 * @example
 * const y = [3.3, 5.6, 7.1, 9.3, 10.7, 12.1];
 * const line = weightedLine(y.map((value, i) => ({ x: i + 1, y: value, yStandardError: 0.5 })));
 * inverseOfLine(line, { y: 10.5, yStandardError: 0.5 }); // => ({ value: 4.9132791, standardError: 0.3220356 }) within 1e-7
 */
export function inverseOfLine(line: WeightedLine, reading: LineReading): Estimate {
  const caller = 'inverseOfLine';
  requireKnownNames(reading, READING_NAMES, { caller, argument: 'reading' });
  requireNumber(reading.y, { caller, argument: 'reading.y' });
  const { readingCount = 1 } = reading;
  requireNumber(readingCount, { caller, argument: 'reading.readingCount' }, { atLeast: 1 });
  const yStandardError =
    reading.yStandardError ?? (line.residualStandardDeviation ?? 0) / Math.sqrt(readingCount);
  requireNumber(yStandardError, { caller, argument: 'reading.yStandardError' }, { atLeast: 0 });
  const { intercept, slope } = line;
  if (intercept.kind !== 'estimated' || slope.kind !== 'estimated') return unavailable('too-few-points');

  const [[aa, ab], [, bb]] = line.covariance;
  const b = slope.value;
  // About the point where intercept and slope are uncorrelated: there the quadratic loses no digits.
  const pivotX = bb > 0 ? -ab / bb : 0;
  const aboveY = reading.y - intercept.value - b * pivotX;
  const constant = yStandardError ** 2 + Math.max(0, aa + ab * pivotX);
  const t = studentTQuantile(0.975, intervalOptions(line).degreesOfFreedom ?? Number.POSITIVE_INFINITY);
  const leading = b * b - t * t * bb;
  if (!(leading > 0)) return unavailable('not-identifiable');
  const offset = aboveY / b;
  const middle = (aboveY * b) / leading;
  const half = (t / leading) * Math.sqrt(leading * constant + aboveY ** 2 * bb);
  return {
    kind: 'estimated',
    value: pivotX + offset,
    standardError: Math.sqrt(constant + offset ** 2 * bb) / Math.abs(b),
    interval95: [pivotX + middle - half, pivotX + middle + half],
  };
}

interface MovedPoint {
  readonly x: number;
  readonly y: number;
  readonly ux: number;
  readonly uy: number;
}

/** Intercept and slope of the moved points; where x is uncertain the best of two starts, shallow and steep. */
function fitMoved(points: readonly MovedPoint[]): LeastSquaresResult {
  const from = (tilt: number): LeastSquaresResult =>
    leastSquares(
      ([a, b], out) => {
        points.forEach(({ x, y, ux, uy }, i) => {
          out[i] = (y - a - b * x) / Math.hypot(uy, b * ux);
        });
      },
      [0, tilt],
      {
        residualCount: points.length,
        jacobian: ([a, b], out) => {
          points.forEach(({ x, y, ux, uy }, i) => {
            const u = Math.hypot(uy, b * ux);
            // The abscissa of the line's best point for this one [York2004].
            const bestX = x + (b * ux * ux * (y - a - b * x)) / (u * u);
            out[2 * i] = -1 / u;
            out[2 * i + 1] = -bestX / u;
          });
        },
      },
    );
  const xx = points.reduce((sum, { x }) => sum + x * x, 0);
  const xy = points.reduce((sum, { x, y }) => sum + x * y, 0);
  const yy = points.reduce((sum, { y }) => sum + y * y, 0);
  const shallow = from(xy / xx);
  if (xy === 0 || points.every(({ ux }) => ux === 0)) return shallow;
  const steep = from(yy / xy);
  return steep.sumOfSquares < shallow.sumOfSquares ? steep : shallow;
}

/** Entries 11, 12 and 22 of (JᵀJ)⁻¹ for two columns, from their orthogonal parts. */
function inverseNormalMatrix(jacobian: Float64Array): [number, number, number] {
  let first = 0;
  let cross = 0;
  for (let i = 0; i < jacobian.length; i += 2) {
    first += jacobian[i] ** 2;
    cross += jacobian[i] * jacobian[i + 1];
  }
  const share = cross / first;
  let rest = 0;
  for (let i = 0; i < jacobian.length; i += 2) rest += (jacobian[i + 1] - share * jacobian[i]) ** 2;
  return [1 / first + share ** 2 / rest, -share / rest, 1 / rest];
}

function varianceAt(line: WeightedLine, x: number): number {
  const [[aa, ab], [, bb]] = line.covariance;
  return aa + 2 * x * ab + x * x * bb;
}

function intervalOptions({ uncertaintyFrom, degreesOfFreedom }: WeightedLine): {
  readonly degreesOfFreedom?: number;
} {
  return uncertaintyFrom === 'scatter' ? { degreesOfFreedom } : {};
}

/** Checks the points; returns whether they state their uncertainties. */
function requirePoints(points: readonly LinePoint[]): boolean {
  const caller = 'weightedLine';
  points.forEach((point, i) => {
    requireKnownNames(point, POINT_NAMES, { caller, argument: `points[${i}]` });
    requireNumber(point.x, { caller, argument: `points[${i}].x` });
    requireNumber(point.y, { caller, argument: `points[${i}].y` });
    if (point.xStandardError !== undefined)
      requireNumber(
        point.xStandardError,
        { caller, argument: `points[${i}].xStandardError` },
        { atLeast: 0 },
      );
    if (point.yStandardError !== undefined)
      requireNumber(point.yStandardError, { caller, argument: `points[${i}].yStandardError` }, { above: 0 });
  });
  const distinct = new Set(points.map(({ x }) => x)).size;
  if (distinct < 2)
    throw new ArgumentError({
      caller,
      argument: 'points',
      expected: 'at least two points with different x',
      received: `${points.length} with ${distinct} different x`,
    });
  const isStated = points[0].yStandardError !== undefined;
  const odd = points.findIndex(
    ({ xStandardError = 0, yStandardError }) =>
      (yStandardError !== undefined) !== isStated || (!isStated && xStandardError > 0),
  );
  if (odd >= 0)
    throw new ArgumentError({
      caller,
      argument: `points[${odd}].yStandardError`,
      expected: 'given for all points or for none, and wherever xStandardError is given',
      received: points[odd].yStandardError,
      remedy: 'state the standard uncertainty of y of every point',
    });
  return isStated;
}

function meanOf(values: readonly number[]): number {
  return values.reduce((sum, value) => sum + value, 0) / values.length;
}
