import type { Matrix } from 'ml-matrix';
import { minimizeSeparable } from '../../numerics/separable-least-squares.js';
import { createWorkspace } from '../../numerics/workspace.js';
import { type FittedCandidate, fanOf, reasonToReject, scaledInverse } from './fit-candidate.js';
import { createJointEvaluation, type FitMember } from './fit-evaluation.js';
import type { FitRecord } from './fit-record.js';
import { type FitStructure, layoutParameters, type Prior, resistanceCountOf } from './fit-structure.js';

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

/** How many stages, from the die, all coolers have in common; and whether one sensor lag. */
export interface Sharing {
  readonly sharedStageCount: number;
  readonly sensorLag: boolean;
}

/** A joint fit of several records. */
export interface JointCandidate extends Sharing {
  /** One for each member. */
  readonly members: readonly ProjectedCandidate[];
  /** Names of all parameters, nonlinear first, in the order of the covariance. */
  readonly names: readonly string[];
  readonly values: readonly number[];
  readonly inverseGram: Matrix;
  readonly weightedSquares: number;
  readonly rejected?: string;
}

/** What a joint fit says of one member, as a fit of its own would say it. */
export interface ProjectedCandidate extends FittedCandidate {
  /** Places of its parameters, [nonlinear, linear], among all. */
  readonly places: readonly number[];
}

/** One joint fit is done at a time, and what is kept of it is copied. */
const workspace = createWorkspace();

/** Fits members together: parameters with one key are one parameter. */
export function fitJointCandidate(members: readonly JointMember[], sharing: Sharing): JointCandidate {
  const keyed = members.map((member, m) => ({
    ...member,
    layout: layoutParameters(member.record, member.structure),
    keyOf: (name: string): string => keyOf(name, member, m, sharing),
  }));
  const nonlinearKeys = uniqueKeys(keyed.map(({ layout, keyOf: key }) => layout.names.map(key)));
  const linearKeys = uniqueKeys(
    keyed.map(({ structure, keyOf: key }) => resistanceNames(structure).map(key)),
  );
  const space = spaceOf(keyed, nonlinearKeys, linearKeys);
  const parts: FitMember[] = keyed.map(({ record, structure, layout, sampleWeights, keyOf: key }) => ({
    record,
    structure,
    layout,
    sampleWeights,
    places: {
      nonlinear: layout.names.map((name) => placeIn(nonlinearKeys, key(name))),
      linear: resistanceNames(structure).map((name) => placeIn(linearKeys, key(name))),
    },
  }));
  const evaluation = createJointEvaluation(parts, space, workspace);
  const minimum = minimizeSeparable(evaluation, startOf(keyed, parts, space.nonlinearCount));
  const inverseGram = scaledInverse(evaluation.accumulate().gram, space.nonlinearCount + space.linearCount);
  const projected = parts.map(({ record, structure, layout, sampleWeights, places }, m) => {
    const own = [...places.nonlinear, ...places.linear.map((place) => space.nonlinearCount + place)];
    const parameters = Float64Array.from(places.nonlinear, (place) => minimum.parameters[place]);
    const linearParameters = Float64Array.from(places.linear, (place) => minimum.linearParameters[place]);
    const timeConstantsS = Array.from(parameters.subarray(0, structure.stageCount), Math.exp);
    const resistancesKPerW = Array.from(linearParameters.subarray(0, structure.stageCount));
    const residualsK = evaluation.residualsK(m);
    const ownGram = inverseGram.selection(own, own);
    const ownMinimum = { ...minimum, parameters, linearParameters };
    const rejected =
      structure.enclosure === true
        ? undefined
        : reasonToReject(record, ownMinimum, layout, timeConstantsS, resistancesKPerW, ownGram);
    return {
      structure,
      layout,
      minimum: ownMinimum,
      timeConstantsS,
      resistancesKPerW,
      powerExponent: layout.exponentIndex < 0 ? structure.powerExponent : parameters[layout.exponentIndex],
      residualsK,
      weightedSquares: residualsK.reduce((sum, residual, i) => sum + sampleWeights[i] * residual ** 2, 0),
      inverseGram: ownGram,
      places: own,
      ...(layout.lagIndex < 0 ? {} : { sensorLagS: Math.exp(parameters[layout.lagIndex]) }),
      ...(layout.fanIndex < 0 ? {} : { fan: fanOf(layout, parameters) }),
      ...(rejected === undefined ? {} : { rejected }),
    };
  });
  workspace.release();
  const rejected = projected.find((candidate) => candidate.rejected !== undefined)?.rejected;
  return {
    ...sharing,
    members: projected,
    names: [...nonlinearKeys.keys(), ...linearKeys.keys()],
    values: [...minimum.parameters, ...minimum.linearParameters],
    inverseGram,
    weightedSquares: projected.reduce((sum, candidate) => sum + candidate.weightedSquares, 0),
    ...(rejected === undefined ? {} : { rejected }),
  };
}

const STAGE_NAME = /^(?:logTimeConstantS|resistanceKPerW)\[(\d+)\]$/;
const OF_ENCLOSURE = /^(?:logEnclosureTimeConstantS|enclosureResistanceKPerW)$/;
const OF_RUN = /^(?:startPowerW|ambientOffsetK)\[/;

function resistanceNames(structure: FitStructure): string[] {
  return Array.from({ length: resistanceCountOf(structure) }, (_, k) =>
    k < structure.stageCount ? `resistanceKPerW[${k + 1}]` : 'enclosureResistanceKPerW',
  );
}

/** What a member's parameter is in the whole fit: of the processor, of the enclosure, of the cooler, or of the run. */
function keyOf(
  name: string,
  { cooler, enclosure }: JointMember,
  member: number,
  { sharedStageCount }: Sharing,
): string {
  const stage = STAGE_NAME.exec(name);
  if (stage !== null && Number(stage[1]) <= sharedStageCount) return name;
  if (name === 'logSensorLagS' && sharedStageCount > 0) return name;
  if (OF_ENCLOSURE.test(name)) return `${enclosure}: ${name}`;
  if (OF_RUN.test(name)) return `${cooler}, record ${member + 1}: ${name}`;
  return `${cooler}: ${name}`;
}

function uniqueKeys(lists: readonly (readonly string[])[]): ReadonlyMap<string, number> {
  return new Map([...new Set(lists.flat())].map((key, place) => [key, place]));
}

function placeIn(keys: ReadonlyMap<string, number>, key: string): number {
  return keys.get(key) ?? -1;
}

type KeyedMember = JointMember & {
  readonly layout: ReturnType<typeof layoutParameters>;
  keyOf(name: string): string;
};

/** Bounds that all members can live with; a prior belief in a shared parameter is held once. */
function spaceOf(
  members: readonly KeyedMember[],
  nonlinearKeys: ReadonlyMap<string, number>,
  linearKeys: ReadonlyMap<string, number>,
): Parameters<typeof createJointEvaluation>[1] {
  const nonlinearCount = nonlinearKeys.size;
  const lowerBounds = new Float64Array(nonlinearCount).fill(Number.NEGATIVE_INFINITY);
  const upperBounds = new Float64Array(nonlinearCount).fill(Number.POSITIVE_INFINITY);
  const priors = new Map<number, Prior>();
  for (const { layout, keyOf: key } of members) {
    layout.names.forEach((name, i) => {
      const place = placeIn(nonlinearKeys, key(name));
      lowerBounds[place] = Math.max(lowerBounds[place], layout.lowerBounds[i]);
      upperBounds[place] = Math.min(upperBounds[place], layout.upperBounds[i]);
    });
    for (const prior of layout.priors) {
      const index = placeIn(nonlinearKeys, key(layout.names[prior.index]));
      priors.set(index, { ...prior, index });
    }
  }
  return {
    nonlinearCount,
    linearCount: linearKeys.size,
    lowerBounds,
    upperBounds,
    priors: [...priors.values()],
  };
}

/** The middle of where the members start; for what none of them knows, the middle of what is believed. */
function startOf(
  members: readonly KeyedMember[],
  parts: readonly FitMember[],
  nonlinearCount: number,
): Float64Array {
  const sums = new Float64Array(nonlinearCount);
  const counts = new Float64Array(nonlinearCount);
  const start = new Float64Array(nonlinearCount);
  members.forEach((member, m) => {
    const { layout } = member;
    const { nonlinear } = parts[m].places;
    for (const { index, mean } of layout.priors) start[nonlinear[index]] = mean;
    layout.names.forEach((name, i) => {
      const value = member.startOf(name);
      if (value === undefined) return;
      sums[nonlinear[i]] += value;
      counts[nonlinear[i]]++;
    });
  });
  return start.map((value, i) => (counts[i] === 0 ? value : sums[i] / counts[i]));
}
