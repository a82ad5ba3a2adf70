import type {
  ComparedCooler,
  CoolerComparison,
  CoolerPair,
} from '../../thermal/compare/cooler-comparison.js';
import { count, estimate, finding, fraction, notNegative, positive } from './common-shapes.js';
import { arrayOf, number, object, oneOf, type Shape, text, tuple } from './shape.js';

const countOrText: Shape = (value, path) =>
  value === 'no reasonable number' || count(value, path) === undefined
    ? undefined
    : { path, expected: "a whole number at or above 0 or 'no reasonable number'", received: value };

/** A saved comparison of coolers. */
export const coolerComparison: Shape = object<CoolerComparison>(
  {
    kind: oneOf('cooler-comparison'),
    powerW: positive,
    confidence: fraction,
    mountAllowanceFraction: fraction,
    summary: text,
    coolers: arrayOf(
      object<ComparedCooler>(
        {
          label: text,
          thermalResistanceKPerW: estimate,
          steadyRiseK: estimate,
          mountCount: count,
          mountSpreadFraction: notNegative,
          mountSpreadSource: oneOf('allowed', 'logged'),
          places: tuple(count, count),
        },
        { steadyTemperatureC: estimate, fanSpeedRpm: positive },
      ),
    ),
    pairs: arrayOf(
      object<CoolerPair>(
        {
          first: text,
          second: text,
          differenceKPerW: estimate,
          riseDifferenceK: estimate,
          verdict: oneOf('better', 'worse', 'not told apart'),
          pValue: fraction,
          adjustedPValue: fraction,
          moreMountsOfEachCount: countOrText,
          summary: text,
        },
        {},
      ),
    ),
    ranking: arrayOf(arrayOf(text)),
    findings: arrayOf(finding),
  },
  { ambientC: number, soundLevelDb: number },
);
