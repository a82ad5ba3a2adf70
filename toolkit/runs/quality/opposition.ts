import { blockMeans, blocksOf, rangeOf } from '../block-means.js';
import type { Finding } from '../finding.js';
import type { RunSamples } from '../run.js';

/** Power change between stretches, as a share of the highest, that must show in the temperature. */
const LARGE_STEP_FRACTION = 0.5;

/** Temperature change that counts as an answer, K. */
const ANSWER_K = 2;

/** Time constants by which the temperature may lag the power, s: from the die alone to a slow heat sink. */
const LAGS_S = [0, 2, 5, 15, 50, 150, 500] as const;

/**
 * A finding where temperature answers power the wrong way round: among all changes of power by more than half of
 * its highest value, more see the temperature go the other way (by 2 K or more) than the same way, and no lag
 * explains that.
 *
 * Where the power switches faster than the temperature follows, the answer to one change comes during the next.
 * So the changes of temperature are also compared with those of the power behind a first-order lag, for lags from
 * 0 to 500 s; it is opposition only if the closest agreement, by either sign, is a negative one.
 */
export function oppositionFindings(samples: RunSamples): readonly Finding[] {
  const blockCount = Math.min(200, Math.floor(samples.timeS.length / 5));
  if (blockCount < 6) return [];
  const blocks = blocksOf(0, samples.timeS.length, blockCount);
  const powerW = blockMeans(samples.powerW, blocks);
  const powerStepsW = stepsOf(powerW);
  const temperatureStepsK = stepsOf(blockMeans(samples.temperatureC, blocks));
  const largeStepW = LARGE_STEP_FRACTION * rangeOf(powerW).high;
  let agreeing = 0;
  let opposing = 0;
  for (let k = 0; k < powerStepsW.length; k++) {
    const stepW = powerStepsW[k];
    if (largeStepW === 0 || Math.abs(stepW) < largeStepW) continue;
    const answerK = temperatureStepsK[k] * Math.sign(stepW);
    if (answerK >= ANSWER_K) agreeing++;
    else if (answerK <= -ANSWER_K) opposing++;
  }
  if (opposing <= agreeing) return [];

  let closest = 0;
  for (const lagS of LAGS_S) {
    const laggedStepsW = stepsOf(blockMeans(laggedBy(lagS, samples.timeS, samples.powerW), blocks));
    const agreement = correlationOf(laggedStepsW, temperatureStepsK);
    if (Math.abs(agreement) > Math.abs(closest)) closest = agreement;
  }
  if (closest >= 0) return [];
  return [
    {
      code: 'temperature-against-power',
      severity: 'serious',
      message: `The temperature falls where the power rises steeply, or rises where it falls (${opposing} of ${opposing + agreeing} large steps), and no lag of the temperature explains it; used as logged.`,
      remedy:
        'check which columns were taken for temperature and power, and whether both have the same time stamps',
      count: opposing,
    },
  ];
}

/** Changes from the block before to the block after, since a step may fall inside the one between. */
function stepsOf(means: Float64Array): Float64Array {
  const steps = new Float64Array(means.length - 2);
  for (let k = 0; k < steps.length; k++) steps[k] = means[k + 2] - means[k];
  return steps;
}

/** Values behind a first-order lag with this time constant, at rest at the start. */
function laggedBy(lagS: number, timeS: Float64Array, values: Float64Array): Float64Array {
  if (lagS === 0) return values;
  const lagged = new Float64Array(values.length);
  let level = values[0];
  lagged[0] = level;
  for (let i = 1; i < values.length; i++) {
    level -= (values[i] - level) * Math.expm1((timeS[i - 1] - timeS[i]) / lagS);
    lagged[i] = level;
  }
  return lagged;
}

/** Correlation of changes about zero; 0 where one of the two does not change. */
function correlationOf(a: Float64Array, b: Float64Array): number {
  let product = 0;
  let squareA = 0;
  let squareB = 0;
  for (let i = 0; i < a.length; i++) {
    product += a[i] * b[i];
    squareA += a[i] ** 2;
    squareB += b[i] ** 2;
  }
  return squareA === 0 || squareB === 0 ? 0 : product / Math.sqrt(squareA * squareB);
}
