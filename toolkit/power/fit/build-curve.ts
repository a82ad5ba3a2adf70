import { ArgumentError, type KnownNames, requireKnownNames, requireNumber } from '../../errors.js';
import type { Estimate } from '../../numerics/estimate.js';
import type { Finding } from '../../runs/finding.js';
import type { CurveVoltage, OffsetLoss } from '../curve-voltage.js';
import type { ReferencePoint } from '../forms/curve-form.js';
import type { CurvePoint, PowerCurve, PowerCurveForm, SlowedRun } from '../power-curve.js';
import { candidateProblems } from './candidate-problems.js';
import {
  type CurveAssumptions,
  DEFAULT_CURVE_ASSUMPTIONS,
  REFERENCE_TEMPERATURE_C,
  type RoughValue,
} from './curve-assumptions.js';
import {
  assumptionFindings,
  fitFindings,
  levelFindings,
  temperatureFindings,
  voltageFindings,
} from './curve-findings.js';
import { discrepancyOf, slopeEstimates } from './curve-slopes.js';
import { fitForm } from './fit-form.js';
import { type Observation, powerLevelsW } from './observation.js';
import { rangeOf } from './range-of.js';
import { effectiveObservationCount, rankForms } from './rank-forms.js';
import type { ThroughputRelation } from './throughput-relation.js';

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
  readonly throughput?: ThroughputRelation;
  readonly slowedRuns?: readonly SlowedRun[];
  readonly offsetLosses: readonly OffsetLoss[];
  readonly findings: readonly Finding[];
}

/** Standard deviation of the correction's ln V² where the chosen form has none and the candidate needs one. */
const TYPICAL_CORRECTION = 0.03;

/** Fits the forms to observations and puts the curve together. */
export function buildCurve(data: CurveData, options: CurveOptions): PowerCurve {
  const { caller, observations } = data;
  const chosen = options.form ?? 'electro-thermal';
  const assumptions = checkedAssumptions(caller, options.assumptions);
  const levels = powerLevelsW(observations);
  const reference = referencePoint(data.points);
  const offsetsMv = [...new Set(observations.map(({ voltageOffsetMv }) => voltageOffsetMv))].sort(
    (a, b) => b - a,
  );
  const relationOffsetMv = offsetsMv[0];
  const { allowed, rejected } = candidateProblems(
    observations,
    reference,
    relationOffsetMv,
    assumptions,
    levels.length,
  );
  const problem = allowed.find(({ form }) => form.form === chosen);
  if (problem === undefined) {
    throw new ArgumentError({
      caller,
      argument: 'options.form',
      expected: `${allowed.map(({ form }) => `'${form.form}'`).join(' or ')} for data at ${levels.length} power level${levels.length === 1 ? '' : 's'}`,
      received: chosen,
      remedy: rejected.some(({ reason }) => reason.includes('voltage'))
        ? 'give runs of one voltage offset for a form that knows no voltage'
        : 'other forms need runs at further power caps',
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
  const values = Object.fromEntries(problem.form.parameters.map(({ name }, j) => [name, fit.parameters[j]]));
  const voltage = voltageOf(observations, offsetsMv, data.offsetLosses);
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
    ...(data.throughput !== undefined && { throughput: data.throughput }),
    ...(voltage !== undefined && chosen === 'electro-thermal' && { voltage }),
    ...(data.slowedRuns !== undefined && { slowedRuns: data.slowedRuns }),
    candidates,
    findings: [
      ...data.findings,
      ...levelFindings(levels, observations),
      ...temperatureFindings(problem.form, slopes.frequencyPerTemperatureMHzPerK, candidates),
      ...assumptionFindings(problem.form, fit),
      ...fitFindings(data, fit),
      ...voltageFindings(data, fit),
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

/** The centre of the points (geometric mean over segments, to 0.1 W) at the fixed reference temperature. */
function referencePoint(points: readonly CurvePoint[]): ReferencePoint {
  const logMean = points.reduce((sum, { powerW }) => sum + Math.log(powerW), 0) / points.length;
  return {
    powerW: Math.max(0.1, Math.round(10 * Math.exp(logMean)) / 10),
    temperatureC: REFERENCE_TEMPERATURE_C,
  };
}

/** What the curve knows of voltage; undefined where none was logged. */
function voltageOf(
  observations: readonly Observation[],
  offsetsMv: readonly number[],
  offsetLosses: readonly OffsetLoss[],
): CurveVoltage | undefined {
  const voltagesV = observations.flatMap(({ voltage }) => (voltage === undefined ? [] : [voltage.voltageV]));
  if (voltagesV.length === 0) return undefined;
  return {
    offsetMv: offsetsMv[0],
    relationOffsetMv: offsetsMv[0],
    testedOffsetsMv: offsetsMv,
    testedVoltageV: rangeOf(voltagesV),
    offsetLosses,
  };
}
