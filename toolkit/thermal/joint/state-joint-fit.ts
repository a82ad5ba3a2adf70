import { Matrix } from 'ml-matrix';
import { studentTQuantile } from '../../numerics/distributions.js';
import type { Estimate } from '../../numerics/estimate.js';
import { positiveEstimate } from '../../numerics/estimates.js';
import { sumOf } from '../../numerics/sum-of.js';
import type { Finding } from '../../runs/finding.js';
import type { CoolerModel } from '../cooler-model.js';
import { totalOf } from '../fit/fit-candidate.js';
import { fitFindings } from '../fit/fit-findings.js';
import { modelOfCandidates } from '../fit/model-of-candidates.js';
import { LEAST_DEGREES_OF_FREEDOM } from '../fit/stated-resistance.js';
import { COMMON_REFERENCE_UNCERTAINTY_K } from '../fit/unseen-uncertainty.js';
import type { CoolerParts } from './cooler-parts.js';
import { fitJointCandidate, type JointCandidate, RUNG_NAMES } from './joint-candidate.js';
import type { JointFit, SharingCandidate } from './joint-fit.js';
import { jointMembers } from './joint-members.js';
import { type ChosenSharing, enclosuresOf } from './measured-enclosures.js';
import type { FittedSharing } from './sharings.js';

/** The joint fit as models, enclosures and covariance. */
export function stateJointFit(input: {
  readonly parts: readonly CoolerParts[];
  readonly all: readonly FittedSharing[];
  readonly candidates: readonly SharingCandidate[];
  readonly joint: JointCandidate;
  readonly effectiveSampleCount: number;
  readonly sharingFindings: readonly Finding[];
}): JointFit {
  const { parts, all, candidates, joint, effectiveSampleCount, sharingFindings } = input;
  const leftOver = effectiveSampleCount - joint.names.length;
  const residualScale = joint.weightedSquares / Math.max(1, leftOver);
  const scale = { residualScale, degreesOfFreedom: Math.max(LEAST_DEGREES_OF_FREEDOM, leftOver) };
  const shifted = parts.some(({ bench }) => bench.assumedExponentError > 0)
    ? fitJointCandidate(jointMembers(parts, joint, 1), joint)
    : undefined;
  const benchPlaces = benchPlacesOf(parts);
  const models = parts.map((part, c) =>
    modelOfPart(part, benchPlaces[c], { all, candidates, joint, shifted, ...scale }),
  );
  const values = joint.values.map((value, i) => (shifted === undefined ? 0 : shifted.values[i] - value));
  const matrix = joint.inverseGram
    .to2DArray()
    .map((row, a) => row.map((value, b) => value * residualScale + values[a] * values[b]));
  const { enclosures, findings } = enclosuresOf(parts, { all, candidates, joint, matrix, ...scale });
  return {
    kind: 'joint-fit',
    models: models.map((model, a) => ({
      ...model,
      correlations: models.flatMap((other, b) =>
        a === b
          ? []
          : [
              {
                label: other.label,
                correlation: correlationOf(joint, residualScale, [a, b], models, benchPlaces),
              },
            ],
      ),
    })),
    shared: sharedOf(joint, matrix, scale.degreesOfFreedom),
    enclosures,
    candidates,
    covariance: { parameters: joint.names, matrix },
    findings: [...sharingFindings, ...findings],
  };
}

/** Index of each cooler's bench member among all members. */
function benchPlacesOf(parts: readonly CoolerParts[]): number[] {
  let next = 0;
  return parts.map(({ inEnclosures }) => {
    const place = next;
    next += 1 + inEnclosures.length;
    return place;
  });
}

/** One cooler's model: its part of the joint fit, weighed against the other ways to share. */
function modelOfPart(
  { cooler, bench }: CoolerParts,
  place: number,
  {
    all,
    candidates,
    joint,
    shifted,
    residualScale,
    degreesOfFreedom,
  }: ChosenSharing & { readonly shifted: JointCandidate | undefined },
): CoolerModel {
  const { record, noise, table, spikeMask } = bench.finished;
  const own = all.map((weighed) => weighed.joint?.members[place] ?? table.chosen);
  const chosen = joint.members[place];
  const orders = own.map((candidate, c) => {
    const {
      sharedStageCount,
      sensorLag,
      parameterCount,
      aicc: criterion,
      weight,
      chosen: isChosen,
    } = candidates[c];
    const { rejected } = candidates[c];
    return {
      stageCount: candidate.structure.stageCount,
      sensorLag,
      sharedStageCount,
      parameterCount,
      residualRmsK: rootMeanSquare(candidate.residualsK),
      ...(criterion === undefined ? {} : { aicc: criterion }),
      weight,
      chosen: isChosen,
      ...(rejected === undefined ? {} : { rejected }),
    };
  });
  const separateTotal = totalOf(table.chosen);
  const model = modelOfCandidates({
    record,
    candidates: own,
    table: {
      orders,
      chosen,
      effectiveSampleCount: table.effectiveSampleCount,
      opinions: candidates.map(({ weight }) => weight),
    },
    sampleWeights: bench.finished.sampleWeights,
    noise,
    exponentSource: chosen.layout.exponentIndex < 0 ? 'assumed' : 'fitted',
    assumedExponentError: bench.assumedExponentError,
    shifted: bench.assumedExponentError > 0 ? shifted?.members[place] : undefined,
    label: cooler,
    joint: {
      residualScale,
      degreesOfFreedom,
      // How many stages the cooler has was weighed in its own fit.
      orderVariance: sumOf(
        bench.finished.candidates,
        (candidate, c) => table.opinions[c] * (totalOf(candidate) - separateTotal) ** 2,
      ),
    },
  });
  const kept = bench.model.findings.filter(({ code }) => code === 'convection-not-linear');
  return {
    ...model,
    findings: [
      ...fitFindings({ record, model, candidates: own, chosen, bent: undefined, spikeMask }),
      ...kept,
    ],
  };
}

/**
 * Correlation of the total resistances of two coolers: what the shared rungs make common, and the temperature that
 * everything is referred to.
 */
function correlationOf(
  joint: JointCandidate,
  residualScale: number,
  [a, b]: readonly [number, number],
  models: readonly CoolerModel[],
  benchPlaces: readonly number[],
): number {
  const [ofA, ofB] = [a, b].map((c) => {
    const { toOwn, layout, structure } = joint.members[benchPlaces[c]];
    // The total is the sum of the rows of the resistances.
    const rows = Array.from({ length: structure.stageCount }, (_, k) => layout.count + k);
    return Matrix.rowVector(joint.names.map((_, i) => sumOf(rows, (row) => toOwn.get(row, i))));
  });
  const powersW = [a, b].map((c) => models[c].resistanceLaw.atPowerW);
  const covariance =
    residualScale * ofA.mmul(joint.inverseGram).mmul(ofB.transpose()).get(0, 0) +
    COMMON_REFERENCE_UNCERTAINTY_K ** 2 / (powersW[0] * powersW[1]);
  const errors = [a, b].map((c) => models[c].resistanceLaw.resistanceStandardErrorKPerW);
  return Math.min(1, Math.max(-1, covariance / (errors[0] * errors[1])));
}

/** The rungs that all coolers have in common, with their uncertainty. */
function sharedOf(
  joint: JointCandidate,
  matrix: readonly (readonly number[])[],
  degreesOfFreedom: number,
): JointFit['shared'] {
  const coverage = studentTQuantile(0.975, degreesOfFreedom);
  const ofLogarithm = (place: number): Estimate => {
    const value = Math.exp(joint.values[place]);
    return positiveEstimate(value, value * Math.sqrt(matrix[place][place]), coverage);
  };
  const placeOf = (name: string): number => joint.names.indexOf(name);
  const lag = placeOf('logSensorLagS');
  return {
    rungs: Array.from({ length: joint.sharedStageCount }, (_, k) => ({
      heatCapacityJPerK: ofLogarithm(placeOf(RUNG_NAMES.heatCapacity(k + 1))),
      resistanceKPerW: ofLogarithm(placeOf(RUNG_NAMES.resistance(k + 1))),
    })),
    ...(lag < 0 ? {} : { sensorLagS: ofLogarithm(lag) }),
  };
}

function rootMeanSquare(values: Float64Array): number {
  return Math.sqrt(values.reduce((sum, value) => sum + value ** 2, 0) / values.length);
}
