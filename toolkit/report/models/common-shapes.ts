import type { EstimatedNumber, UnavailableNumber } from '../../numerics/estimate.js';
import type { Finding } from '../../runs/finding.js';
import type { CoolerModel } from '../../thermal/cooler-model.js';
import {
  allOf,
  arrayOf,
  boolean,
  byField,
  number,
  numberThat,
  object,
  oneOf,
  type Shape,
  text,
  tuple,
} from './shape.js';

export const positive: Shape = numberThat('a finite number above 0', (value) => value > 0);
export const notNegative: Shape = numberThat('a finite number at or above 0', (value) => value >= 0);
export const fraction: Shape = numberThat('a number from 0 to 1', (value) => value >= 0 && value <= 1);
export const count: Shape = numberThat(
  'a whole number at or above 0',
  (value) => Number.isInteger(value) && value >= 0,
);

export const increasingPair: Shape = (value, path) =>
  tuple(number, number)(value, path) ??
  ((value as [number, number])[0] <= (value as [number, number])[1]
    ? undefined
    : { path, expected: 'a pair with the lower number first', received: JSON.stringify(value) });

/** An uncertain number. */
export const estimate: Shape = byField('kind', {
  estimated: object<EstimatedNumber>(
    { kind: text, value: number, standardError: notNegative, interval95: increasingPair },
    { extrapolated: boolean, unit: text },
  ),
  unavailable: object<UnavailableNumber>(
    { kind: text, reason: oneOf('fixed', 'at-bound', 'not-identifiable', 'too-few-points') },
    { value: number },
  ),
});

/** What was seen and done. */
export const finding: Shape = object<Finding>(
  { code: text, severity: oneOf('note', 'warning', 'serious'), message: text },
  { remedy: text, count, lines: arrayOf(count), rangeS: tuple(number, number) },
);

const squareCovariance: Shape = (value, path) => {
  const { parameters, matrix } = value as CoolerModel['covariance'];
  const size = parameters.length;
  return matrix.length === size && matrix.every((row) => row.length === size)
    ? undefined
    : {
        path: `${path}.matrix`,
        expected: `${size} rows of ${size} numbers, one per parameter`,
        received: matrix,
      };
};

export const covariance: Shape = allOf(
  object<CoolerModel['covariance']>({ parameters: arrayOf(text), matrix: arrayOf(arrayOf(number)) }, {}),
  squareCovariance,
);

export const termination: Shape = object<CoolerModel['termination']>(
  { reason: text, converged: boolean, message: text },
  {},
);
