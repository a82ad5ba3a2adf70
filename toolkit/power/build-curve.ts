import { ArgumentError, type KnownNames, requireKnownNames, requireNumber } from '../errors.js';
import type { Estimate } from '../numerics/estimate.js';
import { estimated, unavailable } from '../numerics/estimates.js';
import type { Finding } from '../runs/finding.js';
import {
  type CurveAssumptions,
  DEFAULT_CURVE_ASSUMPTIONS,
  logNormalOf,
  REFERENCE_TEMPERATURE_C,
  type RoughValue,
} from './curve-assumptions.js';
import { type CurveForm, electroThermal, polynomial, powerLaw, type ReferencePoint } from './curve-forms.js';
import { type FormFit, type FormProblem, fitForm, slopesOf } from './fit-form.js';
import { bilinearForm } from './frequency-at.js';
import { type Observation, powerLevelsW } from './observation.js';
import type { CurveDiscrepancy, CurvePoint, PowerCurve, PowerCurveForm } from './power-curve.js';
import { effectiveObservationCount, rankForms } from './rank-forms.js';
import { knotsOver, SHAPE_SCALE_RATIO } from './shape-correction.js';
import { startElectroThermal, startPolynomial, startPowerLaw } from './starting-values.js';

/** Options common to both ways of making a curve. */
export interface CurveOptions {
  /** Name of the curve. Default: the processor, or the runs. */
  readonly label?: string;
  /** What is taken as roughly known; each entry replaces that of `DEFAULT_CURVE_ASSUMPTIONS`. */
  readonly assumptions?: Partial<CurveAssumptions>;
  /**
   * Form to use. Default `electro-thermal`: the only one that tells temperature from power. The others ignore
   * temperature; they are always in the table of candidates.
   */
  readonly form?: PowerCurveForm;
}

export const CURVE_OPTION_NAMES: KnownNames<CurveOptions> = { label: true, assumptions: true, form: true };

const ROUGH_VALUE_NAMES: KnownNames<RoughValue> = { low: true, high: true };

/** Observations ready to be fitted, and what is known about them. */
export interface CurveData {
  readonly caller: string;
  readonly label: string;
  readonly processor?: string;
  readonly workload?: string;
  readonly runLabels: readonly string[];
  readonly method: PowerCurve['method'];
  readonly observations: readonly Observation[];
  /** Names of the segments or points that `Observation.segment` counts. */
  readonly segmentLabels: readonly string[];
  readonly points: readonly CurvePoint[];
  readonly throughputPerMHz?: Estimate;
  readonly findings: readonly Finding[];
}

/** Ratio of highest to lowest power below which the slope rests on a narrow range. */
const NARROW_POWER_RATIO = 1.15;

/** A parameter whose spread is still this share of its assumption's rests on the assumption. */
const ASSUMED_SHARE = 0.7;

/** Mean residual of a segment, as a fraction of frequency, from which the form is said to miss it. */
const LACK_OF_FIT_FRACTION = 0.003;

/** Half the range of powers over which the slope is taken, as a fraction. */
const SLOPE_POWER_FRACTION = 0.1;

/** Temperature difference over which a form without temperature may bend, K. */
const TEMPERATURE_SCALE_K = 30;

/** Standard deviation of the correction's ln V² where the chosen form has none and the candidate needs one. */
const TYPICAL_CORRECTION = 0.03;

/** Fits the forms to observations and puts the curve together. */
export function buildCurve(data: CurveData, options: CurveOptions): PowerCurve {
  const { caller, observations } = data;
  const chosen = options.form ?? 'electro-thermal';
  const assumptions = checkedAssumptions(caller, options.assumptions);
  const levels = powerLevelsW(observations);
  const reference = referencePoint(data.points);
  const allowed: FormProblem[] = [];
  const rejected: { form: CurveForm; reason: string }[] = [];
  const knotsMHz = knotsOver(...rangeOf(observations.map(({ frequencyMHz }) => frequencyMHz)));
  for (const form of [electroThermal(knotsMHz), powerLaw, polynomial]) {
    if (levels.length >= form.powerLevelsNeeded) {
      allowed.push(problemOf(form, observations, reference, assumptions, levels.length));
    } else {
      rejected.push({
        form,
        reason: `needs ${form.powerLevelsNeeded} power levels, the data hold ${levels.length}`,
      });
    }
  }
  const problem = allowed.find(({ form }) => form.form === chosen);
  if (problem === undefined) {
    throw new ArgumentError({
      caller,
      argument: 'options.form',
      expected: `${allowed.map(({ form }) => `'${form.form}'`).join(' or ')} for data at ${levels.length} power level${levels.length === 1 ? '' : 's'}`,
      received: chosen,
      remedy: 'other forms need runs at further power caps',
    });
  }
  const fit = fitForm(problem);
  const effectiveCount = effectiveObservationCount(observations, fit.residualsMHz, fit.variances);
  const { variances, correctionSpread } = fit;
  const candidates = rankForms(
    allowed.map((each) => (each === problem ? { ...each, start: Array.from(fit.parameters) } : each)),
    rejected,
    {
      variances,
      effectiveCount,
      correctionSpread: correctionSpread > 0 ? correctionSpread : TYPICAL_CORRECTION,
    },
    chosen,
  );
  const discrepancy = discrepancyOf(problem, fit);
  const slopes = slopeEstimates(problem, fit, discrepancy, levels.length);
  const values = Object.fromEntries(problem.form.parameters.map(({ name }, j) => [name, fit.parameters[j]!]));
  return {
    kind: 'power-curve',
    label: data.label,
    ...(data.processor !== undefined && { processor: data.processor }),
    ...(data.workload !== undefined && { workload: data.workload }),
    runLabels: data.runLabels,
    method: data.method,
    form: chosen,
    parameters: {
      ...values,
      referencePowerW: reference.powerW,
      referenceTemperatureC: reference.temperatureC,
    },
    covariance: { parameters: problem.form.parameters.map(({ name }) => name), matrix: fit.covariance },
    degreesOfFreedom: fit.degreesOfFreedom,
    discrepancy,
    ...slopes,
    ...(data.throughputPerMHz !== undefined && { throughputPerMHz: data.throughputPerMHz }),
    candidates,
    findings: [
      ...data.findings,
      ...levelFindings(levels, observations),
      ...temperatureFindings(problem.form, slopes.frequencyPerTemperatureMHzPerK, candidates),
      ...assumptionFindings(problem.form, fit),
      ...fitFindings(data, fit),
    ],
    testedRange: {
      powerW: rangeOf(observations.map(({ powerW }) => powerW)),
      frequencyMHz: rangeOf(observations.map(({ frequencyMHz }) => frequencyMHz)),
      temperatureC: rangeOf(observations.map(({ temperatureC }) => temperatureC)),
    },
    points: data.points,
    termination: fit.termination,
    evaluationCount: fit.evaluationCount,
  };
}

function checkedAssumptions(caller: string, given: Partial<CurveAssumptions> = {}): CurveAssumptions {
  requireKnownNames(given, DEFAULT_CURVE_ASSUMPTIONS, { caller, argument: 'options.assumptions' });
  for (const [name, value] of Object.entries(given)) {
    const argument = `options.assumptions.${name}`;
    requireKnownNames(value, ROUGH_VALUE_NAMES, { caller, argument });
    requireNumber(value.low, { caller, argument: `${argument}.low` }, { above: 0 });
    requireNumber(value.high, { caller, argument: `${argument}.high` }, { above: value.low });
  }
  return { ...DEFAULT_CURVE_ASSUMPTIONS, ...given };
}

function problemOf(
  form: CurveForm,
  observations: readonly Observation[],
  reference: ReferencePoint,
  assumptions: CurveAssumptions,
  powerLevelCount: number,
): FormProblem {
  const nothing = form.parameters.map(() => undefined);
  if (form === powerLaw) {
    return {
      form,
      observations,
      reference,
      start: startPowerLaw(observations, reference),
      information: nothing,
    };
  }
  if (form === polynomial) {
    return {
      form,
      observations,
      reference,
      start: startPolynomial(observations, reference),
      information: nothing,
    };
  }
  const inLogarithm = (value: RoughValue, unit = 1) => {
    const { median, logStandardDeviation } = logNormalOf(value);
    return { mean: Math.log(median * unit), standardDeviation: logStandardDeviation };
  };
  return {
    form,
    observations,
    reference,
    start: [
      ...startElectroThermal(observations, reference, assumptions, powerLevelCount),
      ...form.correction!.knotsMHz.map(() => 0),
    ],
    information: [
      undefined,
      inLogarithm(assumptions.exponentAboveLowest),
      inLogarithm(assumptions.exponentGrowth),
      inLogarithm(assumptions.basePowerFraction, reference.powerW),
      inLogarithm(assumptions.leakagePowerFraction, reference.powerW),
      inLogarithm(assumptions.leakageScaleK),
    ],
  };
}

/** The centre of the points (geometric mean over segments, to 0.1 W) at the fixed reference temperature. */
function referencePoint(points: readonly CurvePoint[]): ReferencePoint {
  const logMean = points.reduce((sum, { powerW }) => sum + Math.log(powerW), 0) / points.length;
  return {
    powerW: Math.max(0.1, Math.round(10 * Math.exp(logMean)) / 10),
    temperatureC: REFERENCE_TEMPERATURE_C,
  };
}

interface SlopeEstimates {
  readonly frequencyPerPowerMHzPerW: Estimate;
  readonly frequencyPerTemperatureMHzPerK: Estimate;
}

/**
 * Mean slopes about the centre of the points: over ±10 % of power, and over the middle half of the tested temperatures
 * (a slope at one point would hang on kinks that no log resolves). A slope that the data add little to is not
 * identifiable.
 */
function slopeEstimates(
  problem: FormProblem,
  fit: FormFit,
  discrepancy: CurveDiscrepancy,
  powerLevelCount: number,
): SlopeEstimates {
  const { form, observations, reference, information } = problem;
  const { degreesOfFreedom } = fit;
  const bound = form.bind(fit.parameters, reference);
  const [lowC, highC] = rangeOf(observations.map(({ temperatureC }) => temperatureC));
  const middleC = (lowC + highC) / 2;
  const middleW = reference.powerW;
  const slope = (fromW: number, toW: number, fromC: number, toC: number, step: number) => {
    const from = new Float64Array(form.parameters.length);
    const to = new Float64Array(form.parameters.length);
    bound.gradient(fromW, fromC, from);
    bound.gradient(toW, toC, to);
    const gradient = to.map((value, j) => (value - from[j]!) / step);
    const value = (bound.frequencyMHz(toW, toC) - bound.frequencyMHz(fromW, fromC)) / step;
    const assumedVariance = information.reduce((sum, entry, j) => {
      if (entry === undefined) return sum;
      return sum + (gradient[j]! * fit.perFitted[j]! * entry.standardDeviation) ** 2;
    }, 0);
    return { value, variance: bilinearForm(gradient, fit.covariance, gradient), assumedVariance };
  };
  const stepW = SLOPE_POWER_FRACTION * middleW;
  const stepK = Math.max(0.5, (highC - lowC) / 4);
  const perPower = slope(middleW - stepW, middleW + stepW, middleC, middleC, 2 * stepW);
  const perTemperature = slope(middleW, middleW, middleC - stepK, middleC + stepK, 2 * stepK);
  const temperatureKnown =
    form.dependsOnTemperature &&
    perTemperature.variance < ASSUMED_SHARE ** 2 * perTemperature.assumedVariance;
  // A form without correction may bend between the points: its discrepancy has a slope as well.
  const { standardDeviationMHz, powerScaleRatio, temperatureScaleK, correction } = discrepancy;
  const bendMHz = correction === undefined ? standardDeviationMHz : 0;
  return {
    frequencyPerPowerMHzPerW:
      powerLevelCount < 2
        ? unavailable('not-identifiable')
        : estimated(
            perPower.value,
            Math.sqrt(perPower.variance + (bendMHz / (powerScaleRatio * middleW)) ** 2),
            { degreesOfFreedom },
          ),
    frequencyPerTemperatureMHzPerK: temperatureKnown
      ? estimated(
          perTemperature.value,
          Math.sqrt(perTemperature.variance + (bendMHz / temperatureScaleK) ** 2),
          { degreesOfFreedom },
        )
      : unavailable('not-identifiable'),
  };
}

/** The discrepancy in words of frequency, at the centre of the points. */
function discrepancyOf({ form, reference, observations }: FormProblem, fit: FormFit): CurveDiscrepancy {
  const { correction } = form;
  const bound = form.bind(fit.parameters, reference);
  const frequencyMHz = bound.frequencyMHz(reference.powerW, reference.temperatureC);
  const { perPower } = slopesOf(bound, reference.powerW, reference.temperatureC);
  const powerScaleRatio = (SHAPE_SCALE_RATIO * frequencyMHz) / (reference.powerW * Math.max(perPower, 1e-9));
  if (correction === undefined) {
    const squares = fit.residualsMHz.reduce((sum, residual) => sum + residual * residual, 0);
    return {
      standardDeviationMHz: Math.sqrt(squares / Math.max(1, observations.length - form.parameters.length)),
      powerScaleRatio,
      temperatureScaleK: TEMPERATURE_SCALE_K,
    };
  }
  const switchingW = reference.powerW - fit.parameters[3]! - fit.parameters[4]!;
  return {
    standardDeviationMHz: fit.correctionSpread * perPower * (switchingW + 0.5 * fit.parameters[4]!),
    powerScaleRatio,
    temperatureScaleK: TEMPERATURE_SCALE_K,
    correction: { knotsMHz: correction.knotsMHz, standardDeviationRatio: fit.correctionSpread },
  };
}

function levelFindings(levels: readonly number[], observations: readonly Observation[]): Finding[] {
  const [low, high] = rangeOf(observations.map(({ powerW }) => powerW));
  if (levels.length < 2) {
    return [
      {
        code: 'one-power-level',
        severity: 'warning',
        message: `All points lie at one power level, ${low.toFixed(1)} to ${high.toFixed(1)} W: how frequency falls with temperature there can be told, but not what a watt changes.`,
        remedy: `log a run at a second power cap at least 15 % away, for example ${(0.8 * low).toFixed(0)} W, and fit both`,
        count: observations.length,
      },
    ];
  }
  if (high < NARROW_POWER_RATIO * low) {
    return [
      {
        code: 'narrow-power-range',
        severity: 'warning',
        message: `The power levels lie within ${(100 * (high / low - 1)).toFixed(0)} % of each other (${low.toFixed(1)} to ${high.toFixed(1)} W): what a watt changes is uncertain and other powers are extrapolated.`,
        remedy: 'log a run at a cap at least 15 % away from these',
      },
    ];
  }
  return [];
}

function temperatureFindings(
  form: CurveForm,
  perTemperature: Estimate,
  candidates: PowerCurve['candidates'],
): Finding[] {
  if (!form.dependsOnTemperature) {
    return [
      {
        code: 'temperature-ignored',
        severity: 'warning',
        message: `The form ${form.form} knows no temperature: it holds for the coolers and rooms of its points only.`,
        remedy: 'leave out options.form to use the electro-thermal form',
      },
    ];
  }
  if (perTemperature.kind === 'unavailable') {
    return [
      {
        code: 'temperature-dependence-not-identified',
        severity: 'warning',
        message:
          'These points do not tell the effect of temperature: it rises together with power, or hardly varies, or runs contradict each other. The effect is carried by the stated assumptions on leakage, with their full spread.',
        remedy:
          'add the same power cap at another temperature: the warm-up of a run, another cooler, another fan speed',
      },
    ];
  }
  const plain = candidates.find(
    (candidate) => candidate.form !== 'electro-thermal' && candidate.weight > 0.5,
  );
  if (plain === undefined) return [];
  return [
    {
      code: 'plain-form-ranks-first',
      severity: 'note',
      message: `By the information criterion a ${plain.form} without temperature ranks first (weight ${plain.weight.toFixed(2)}), although it misses the points by ${plain.residualRmsMHz.toFixed(0)} MHz and the electro-thermal form by ${candidates[0]!.residualRmsMHz.toFixed(0)} MHz: these points are too few to pay for more parameters. The electro-thermal form is used because only it holds at other temperatures.`,
    },
  ];
}

function assumptionFindings(form: CurveForm, fit: FormFit): Finding[] {
  const assumed = form.parameters.flatMap(({ name }, j) => {
    const share = fit.assumptionShares[j];
    return share !== undefined && share > ASSUMED_SHARE
      ? [`${name} ${fit.parameters[j]!.toPrecision(3)}`]
      : [];
  });
  if (assumed.length === 0) return [];
  return [
    {
      code: 'assumed-parameters',
      severity: 'note',
      message: `The data hardly determine ${assumed.join(', ')}: these rest on textbook values with a wide stated spread, which every interval contains.`,
      remedy:
        'more power levels, a wider range of temperatures, or your own values in options.assumptions narrow them',
      count: assumed.length,
    },
  ];
}

function fitFindings(data: CurveData, fit: FormFit): Finding[] {
  const findings: Finding[] = [];
  if (!fit.termination.converged) {
    findings.push({
      code: 'not-converged',
      severity: 'serious',
      message: `The fit did not converge: ${fit.termination.message}.`,
      remedy:
        'check the findings about the data; leave out the run that does not belong to this processor or workload',
    });
  }
  const missed = data.segmentLabels.flatMap((label, segment) => {
    let sum = 0;
    let weights = 0;
    let frequency = 0;
    let noise = 0;
    data.observations.forEach((observation, i) => {
      if (observation.segment !== segment) return;
      sum += observation.sampleCount * fit.residualsMHz[i]!;
      frequency += observation.sampleCount * observation.frequencyMHz;
      noise += observation.sampleCount ** 2 * observation.frequencyVariance;
      weights += observation.sampleCount;
    });
    const missMHz = sum / weights;
    const limitMHz = Math.max((LACK_OF_FIT_FRACTION * frequency) / weights, (3 * Math.sqrt(noise)) / weights);
    return Math.abs(missMHz) > limitMHz ? [{ label, missMHz }] : [];
  });
  if (missed.length > 0) {
    const worst = missed.reduce((a, b) => (Math.abs(b.missMHz) > Math.abs(a.missMHz) ? b : a));
    findings.push({
      code: 'lack-of-fit',
      severity: 'warning',
      message: `The curve misses ${missed.length} of ${data.segmentLabels.length} averages by more than ${100 * LACK_OF_FIT_FRACTION} % of frequency and more than their noise; most: ${worst.label}, logged ${Math.abs(worst.missMHz).toFixed(0)} MHz ${worst.missMHz > 0 ? 'above' : 'below'} the curve. All intervals are widened accordingly.`,
      remedy:
        'check that these runs share processor, workload and settings; if they do, log a cap between the missed ones',
      count: missed.length,
    });
  }
  return findings;
}

function rangeOf(values: readonly number[]): readonly [low: number, high: number] {
  return [Math.min(...values), Math.max(...values)];
}
