import { Matrix } from 'ml-matrix';
import {
  minimizeSeparable,
  type SeparableMinimum,
} from '../../numerics/least-squares/separable-least-squares.js';
import { createWorkspace } from '../../numerics/workspace.js';
import { type FittedCandidate, fanOf, reasonToReject, scaledInverse } from '../fit/fit-candidate.js';
import type { FitRecord } from '../fit/fit-record.js';
import {
  type FitStructure,
  layoutParameters,
  type ParameterLayout,
  type Prior,
} from '../fit/fit-structure.js';
import {
  createJointEvaluation,
  type JointRecord,
  type JointRecordState,
  type JointSpace,
} from './joint-evaluation.js';

/** A record in a joint fit: of one cooler, on the bench or in an enclosure. */
export interface JointMember {
  readonly cooler: string;
  /** Missing on the bench. */
  readonly enclosure?: string;
  readonly record: FitRecord;
  readonly structure: FitStructure;
  readonly sampleWeights: Float64Array;
  /** Where the search starts, by the parameter's name in this member. */
  startOf(name: string): number | undefined;
}

/** How many rungs of the ladder, from the die, all coolers have in common; and whether there is a sensor lag. */
export interface Sharing {
  readonly sharedStageCount: number;
  readonly sensorLag: boolean;
  /** How many stages fewer each cooler has than on its own, where the usual number leads nowhere. Default 0. */
  readonly fewerStages?: number;
}

/** A joint fit of several records. */
export interface JointCandidate extends Sharing {
  /** One for each member. */
  readonly members: readonly ProjectedCandidate[];
  /** Names of all parameters, in the order of the covariance. */
  readonly names: readonly string[];
  readonly values: readonly number[];
  readonly inverseGram: Matrix;
  readonly weightedSquares: number;
  readonly rejected?: string;
}

/** What a joint fit says of one member, as a fit of its own would say it. */
export interface ProjectedCandidate extends FittedCandidate {
  /** How its own parameters, [nonlinear, linear], move with those of the joint fit. */
  readonly toOwn: Matrix;
}

/** One joint fit is done at a time, and what is kept of it is copied. */
const workspace = createWorkspace();

/** Fits members together: parameters with one key are one parameter. */
export function fitJointCandidate(members: readonly JointMember[], sharing: Sharing): JointCandidate {
  const keyed = members.map((member, m) => keyedMember(member, m, sharing));
  const keys = new Map(
    [...new Set(keyed.flatMap((member) => member.keys))].map((key, place) => [key, place]),
  );
  const placeOf = (key: string): number => keys.get(key) ?? -1;
  const records: JointRecord[] = keyed.map(({ rungKeys, otherKeys, ...own }) => ({
    ...own,
    rungPlaces: rungKeys.map(placeOf),
    otherPlaces: otherKeys.map(placeOf),
  }));
  const evaluation = createJointEvaluation(records, spaceOf(keyed, records, keys.size), workspace);
  const minimum = minimizeSeparable(evaluation, startingPoint(keyed, records, keys.size));
  const covariance = scaledInverse(evaluation.accumulate().gram, keys.size);
  const projected = records.map((own, r) =>
    projectedCandidate(own, evaluation.stateOf(r), minimum, covariance),
  );
  workspace.release();
  const rejected = projected.find((candidate) => candidate.rejected !== undefined)?.rejected;
  return {
    ...sharing,
    members: projected,
    names: [...keys.keys()],
    values: [...minimum.parameters],
    inverseGram: covariance,
    weightedSquares: projected.reduce((sum, candidate) => sum + candidate.weightedSquares, 0),
    ...(rejected === undefined ? {} : { rejected }),
  };
}

function projectedCandidate(
  { record, structure, layout, sampleWeights }: JointRecord,
  { parameters, resistancesKPerW, jacobian, residualsK: residualsOf }: JointRecordState,
  minimum: SeparableMinimum,
  covariance: Matrix,
): ProjectedCandidate {
  const toOwn = new Matrix(jacobian.map((row) => Array.from(row)));
  const inverseGram = toOwn.mmul(covariance).mmul(toOwn.transpose());
  const own = { ...minimum, parameters, linearParameters: resistancesKPerW };
  const timeConstantsS = Array.from(parameters.subarray(0, structure.stageCount), Math.exp);
  const stages = Array.from(resistancesKPerW.subarray(0, structure.stageCount));
  const residualsK = residualsOf();
  // In an enclosure the stages are those of the bench.
  const rejected =
    structure.enclosure === true
      ? undefined
      : reasonToReject(record, own, layout, timeConstantsS, stages, inverseGram);
  return {
    structure,
    layout,
    minimum: own,
    timeConstantsS,
    resistancesKPerW: stages,
    powerExponent: layout.exponentIndex < 0 ? structure.powerExponent : parameters[layout.exponentIndex],
    residualsK,
    weightedSquares: residualsK.reduce((sum, residual, i) => sum + sampleWeights[i] * residual ** 2, 0),
    inverseGram,
    toOwn,
    ...(layout.lagIndex < 0 ? {} : { sensorLagS: Math.exp(parameters[layout.lagIndex]) }),
    ...(layout.fanIndex < 0 ? {} : { fan: fanOf(layout, parameters) }),
    ...(rejected === undefined ? {} : { rejected }),
  };
}

/** Names of what the coolers' ladders are made of, from the die outward. */
export const RUNG_NAMES: {
  readonly heatCapacity: (rung: number) => string;
  readonly resistance: (rung: number) => string;
} = {
  heatCapacity: (rung) => `logHeatCapacityJPerK[${rung}]`,
  resistance: (rung) => `logRungResistanceKPerW[${rung}]`,
};

/** Heat capacities, J/K, and resistances, K/W, that a rung may have: far beyond what a processor cooler has. */
const LOG_CAPACITY_BOUNDS = [Math.log(1e-3), Math.log(1e6)] as const;
const LOG_RESISTANCE_BOUNDS = [Math.log(1e-5), Math.log(50)] as const;
/** What a fan may rule of a resistance, K/W. */
const FAN_BOUNDS = [0, 20] as const;

interface KeyedMember extends JointMember {
  readonly layout: ParameterLayout;
  readonly rungKeys: readonly string[];
  readonly otherKeys: readonly string[];
  readonly keys: readonly string[];
}

/** A member with the keys of what it depends on: of the processor, of the enclosure, of the cooler, or of its runs. */
function keyedMember(member: JointMember, index: number, { sharedStageCount }: Sharing): KeyedMember {
  const { cooler, enclosure, record, structure } = member;
  const layout = layoutParameters(record, structure);
  const rungs = Array.from({ length: structure.stageCount }, (_, k) => k + 1);
  const rungKey = (nameOf: (rung: number) => string, rung: number): string => {
    if (rung <= sharedStageCount) return nameOf(rung);
    if (enclosure !== undefined && rung === structure.stageCount) return `${enclosure}: ${nameOf(1)}`;
    return `${cooler}: ${nameOf(rung)}`;
  };
  const rungKeys = [
    ...rungs.map((rung) => rungKey(RUNG_NAMES.heatCapacity, rung)),
    ...rungs.map((rung) => rungKey(RUNG_NAMES.resistance, rung)),
  ];
  const otherKeys = layout.names.slice(structure.stageCount).map((name) => {
    if (name === 'logSensorLagS' && sharedStageCount > 0) return name;
    if (isOfRuns(name)) return `${cooler}, record ${index + 1}: ${name}`;
    return `${cooler}: ${name}`;
  });
  return { ...member, layout, rungKeys, otherKeys, keys: [...rungKeys, ...otherKeys] };
}

/** Whether a parameter belongs to the runs of one record, not to their cooler. */
export function isOfRuns(name: string): boolean {
  return /^(?:startPowerW|ambientOffsetK)\[/.test(name);
}

/** Bounds that all members can live with; a prior belief in a shared parameter is held once. */
function spaceOf(
  members: readonly KeyedMember[],
  records: readonly JointRecord[],
  count: number,
): JointSpace {
  const lowerBounds = new Float64Array(count).fill(Number.NEGATIVE_INFINITY);
  const upperBounds = new Float64Array(count).fill(Number.POSITIVE_INFINITY);
  const priors = new Map<number, Prior>();
  members.forEach(({ layout, structure: { stageCount } }, m) => {
    const { rungPlaces, otherPlaces } = records[m];
    const bound = (place: number, [low, high]: readonly [number, number]): void => {
      lowerBounds[place] = Math.max(lowerBounds[place], low);
      upperBounds[place] = Math.min(upperBounds[place], high);
    };
    rungPlaces.forEach((place, i) => {
      bound(place, i < stageCount ? LOG_CAPACITY_BOUNDS : LOG_RESISTANCE_BOUNDS);
    });
    otherPlaces.forEach((place, i) => {
      const own = stageCount + i;
      bound(place, own === layout.fanIndex ? FAN_BOUNDS : [layout.lowerBounds[own], layout.upperBounds[own]]);
    });
    for (const prior of layout.priors) {
      const index = otherPlaces[prior.index - stageCount];
      priors.set(index, { ...prior, index });
    }
  });
  return { count, lowerBounds, upperBounds, priors: [...priors.values()] };
}

/** The middle of where the members start; for what none of them knows, the middle of what is believed. */
function startingPoint(
  members: readonly KeyedMember[],
  records: readonly JointRecord[],
  count: number,
): Float64Array {
  const sums = new Float64Array(count);
  const counts = new Float64Array(count);
  const start = new Float64Array(count);
  members.forEach(({ layout, structure: { stageCount }, startOf }, m) => {
    const { rungPlaces, otherPlaces } = records[m];
    for (const { index, mean } of layout.priors) start[otherPlaces[index - stageCount]] = mean;
    const known = (place: number, name: string): void => {
      const value = startOf(name);
      if (value === undefined) return;
      sums[place] += value;
      counts[place]++;
    };
    rungPlaces.forEach((place, i) => {
      known(
        place,
        i < stageCount ? RUNG_NAMES.heatCapacity(i + 1) : RUNG_NAMES.resistance(i - stageCount + 1),
      );
    });
    otherPlaces.forEach((place, i) => {
      known(place, layout.names[stageCount + i]);
    });
  });
  return start.map((value, i) => (counts[i] === 0 ? value : sums[i] / counts[i]));
}
