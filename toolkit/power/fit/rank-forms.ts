import { aicc, akaikeWeights } from '../../numerics/information-criterion.js';
import type { CurveCandidate, PowerCurveForm } from '../power-curve.js';
import { fitWeighted } from './fit-form.js';
import type { FormProblem } from './form-problem.js';
import type { Observation } from './observation.js';

/**
 * Ranks candidate forms by the corrected Akaike criterion n·ln(S/N) + 2K + 2K(K + 1)/(n − K − 1)
 * [BurnhamAnderson2002, 2.4], S the weighted sum of squares over the N observations, n their effective number
 * (autocorrelation taken off) and K the parameters the data determine, plus one for the variance; where weak
 * information carries part of a parameter, only the rest counts [Hurvich1998]. All candidates are minimised on the
 * same observations with the same weights.
 *
 * @param problems - the candidates that the power levels allow
 * @param rejected - the others, with the reason
 * @param criterion - variances of the observations about a curve, MHz²; their effective number; standard deviation of
 * the electro-thermal form's correction
 * @param chosen - the form that the curve uses
 */
export function rankForms(
  problems: readonly FormProblem[],
  rejected: readonly { readonly form: FormProblem['form']; readonly reason: string }[],
  criterion: {
    readonly variances: Float64Array;
    readonly effectiveCount: number;
    readonly correctionSpread: number;
  },
  chosen: PowerCurveForm,
): CurveCandidate[] {
  const { variances, effectiveCount, correctionSpread } = criterion;
  const ranked = problems.map((problem) => {
    const { sumOfSquares, residualsMHz, effectiveParameterCount } = fitWeighted(
      problem,
      variances,
      correctionSpread,
    );
    // A form that meets every point exactly has no finite likelihood; a thousandth of the noise stands for zero.
    const meanSquare = Math.max(sumOfSquares / residualsMHz.length, 1e-6);
    return {
      problem,
      effectiveParameterCount,
      residualRmsMHz: weightedRms(residualsMHz, problem.observations),
      aicc: aicc({
        sumOfSquares: effectiveCount * meanSquare,
        sampleCount: effectiveCount,
        parameterCount: effectiveParameterCount,
      }),
    };
  });
  const criteria = ranked.map((entry) => entry.aicc);
  const weights = criteria.some((value) => value !== undefined)
    ? akaikeWeights(criteria)
    : criteria.map(() => 0);
  return [
    ...ranked.map((entry, k) => ({
      form: entry.problem.form.form,
      parameterCount: entry.problem.form.parameters.length,
      effectiveParameterCount: entry.effectiveParameterCount,
      residualRmsMHz: entry.residualRmsMHz,
      aicc: entry.aicc ?? 0,
      weight: weights[k],
      chosen: entry.problem.form.form === chosen,
      ...(entry.aicc === undefined && { rejected: 'too few independent points to rank it' }),
    })),
    ...rejected.map(({ form, reason }) => ({
      form: form.form,
      parameterCount: form.parameters.length,
      effectiveParameterCount: 0,
      residualRmsMHz: 0,
      aicc: 0,
      weight: 0,
      chosen: false,
      rejected: reason,
    })),
  ];
}

/**
 * Effective number of observations: N·(1 − r)/(1 + r) for the lag-one autocorrelation r of the standardised residuals
 * within segments, never more than N nor fewer than the number of segments.
 */
export function effectiveObservationCount(
  observations: readonly Observation[],
  residuals: ArrayLike<number>,
  variances: ArrayLike<number>,
): number {
  let products = 0;
  let squares = 0;
  let pairCount = 0;
  const z = Array.from(residuals, (residual, i) => residual / Math.sqrt(variances[i]));
  const segments = new Set(observations.map(({ segment }) => segment)).size;
  for (let i = 0; i < z.length; i++) {
    squares += z[i] * z[i];
    if (i === 0 || observations[i].segment !== observations[i - 1].segment) continue;
    products += z[i] * z[i - 1];
    pairCount++;
  }
  if (pairCount < 3) return z.length;
  // Against the noise at least: residuals far below it say nothing about its correlation.
  const correlation = Math.max(0, Math.min(0.99, products / pairCount / Math.max(1, squares / z.length)));
  return Math.max(segments, (z.length * (1 - correlation)) / (1 + correlation));
}

function weightedRms(residuals: ArrayLike<number>, observations: readonly Observation[]): number {
  let sum = 0;
  let weights = 0;
  observations.forEach(({ sampleCount }, i) => {
    sum += sampleCount * residuals[i] ** 2;
    weights += sampleCount;
  });
  return Math.sqrt(sum / weights);
}
