import { formatNumber } from '../../numerics/format-estimate.js';
import { aicc, akaikeWeights } from '../../numerics/information-criterion.js';
import { sumOf } from '../../numerics/sum-of.js';
import type { Finding } from '../../runs/finding.js';
import { MOST_STAGES } from '../fit/fit-one-cooler.js';
import { LEAST_NOISE_K } from '../fit/residual-correlation.js';
import { type CoolerParts, fitsOf } from './cooler-parts.js';
import { fitJointCandidate, type JointCandidate, type Sharing } from './joint-candidate.js';
import type { SharingCandidate } from './joint-fit.js';
import { bestWith, jointMembers } from './joint-members.js';

/** A candidate with its criterion; the joint fit behind it is missing where all coolers were fitted separately. */
export interface FittedSharing extends Sharing {
  readonly joint?: JointCandidate;
  readonly weightedSquares: number;
  readonly parameterCount: number;
  readonly rejected?: string;
}

/** How much the caller wants shared; the data choose where neither is given. */
export interface WantedSharing {
  readonly sharedStageCount: number | undefined;
  readonly sharedBelowS: number | undefined;
}

/** All ways to share that are tried, fitted. */
export function fitSharings(parts: readonly CoolerParts[], wanted: WantedSharing): FittedSharing[] {
  const separate = separateFits(parts);
  const all = separate === undefined ? [] : [separate];
  for (const fewerStages of [0, 1]) {
    // One stage fewer only where the stages that each has on its own lead nowhere together.
    if (all.some(({ rejected }) => rejected === undefined) && fewerStages > 0) break;
    all.push(...sharingsOf(parts, wanted, fewerStages).map((sharing) => fitSharing(parts, sharing)));
  }
  return all;
}

/** The ways to share that are tried: without and with a lag as the separate fits have it, from one stage on. */
function sharingsOf(
  parts: readonly CoolerParts[],
  { sharedStageCount, sharedBelowS }: WantedSharing,
  fewerStages: number,
): Sharing[] {
  const lags = [...new Set(parts.map(({ bench }) => bench.finished.table.chosen.structure.sensorLag))];
  const enclosed = parts.some(({ inEnclosures }) => inEnclosures.length > 0);
  return lags.flatMap((sensorLag) => {
    const ways = { sensorLag, fewerStages };
    const bests = parts.map(({ bench }) => bestWith(bench, ways));
    const most =
      Math.min(MOST_STAGES, Math.max(...bests.map(({ timeConstantsS }) => timeConstantsS.length))) - 1;
    const below =
      sharedBelowS === undefined
        ? undefined
        : Math.min(
            most,
            ...bests.map(({ timeConstantsS }) => timeConstantsS.filter((tau) => tau < sharedBelowS).length),
          );
    const given = sharedStageCount ?? below;
    const counts =
      given === undefined
        ? Array.from({ length: most }, (_, i) => i + 1)
        : [Math.min(given, MOST_STAGES - 1)];
    const shared = parts.length < 2 ? [] : counts.filter((count) => count > 0);
    // Nothing shared between coolers, but a cooler's stages between bench and enclosure.
    return [...(enclosed ? [0] : []), ...shared].map((count) => ({ sharedStageCount: count, ...ways }));
  });
}

/** Each cooler on its own, where no enclosure needs a joint fit. */
function separateFits(parts: readonly CoolerParts[]): FittedSharing | undefined {
  if (parts.some(({ inEnclosures }) => inEnclosures.length > 0)) return undefined;
  const chosen = parts.map(({ bench }) => bench.finished.table.chosen);
  return {
    sharedStageCount: 0,
    sensorLag: chosen.some(({ structure }) => structure.sensorLag),
    weightedSquares: sumOf(chosen, ({ weightedSquares }) => weightedSquares),
    parameterCount: sumOf(chosen, ({ layout, structure }) => layout.count + structure.stageCount),
  };
}

function fitSharing(parts: readonly CoolerParts[], sharing: Sharing): FittedSharing {
  const joint = fitJointCandidate(jointMembers(parts, sharing), sharing);
  return {
    ...sharing,
    joint,
    weightedSquares: joint.weightedSquares,
    parameterCount: joint.names.length,
    ...(joint.rejected === undefined ? {} : { rejected: joint.rejected }),
  };
}

/** The table of the ways to share, with the one that is chosen. */
export function weighSharings(
  all: readonly FittedSharing[],
  { sharedStageCount, sharedBelowS }: WantedSharing,
  effectiveSampleCount: number,
  parts: readonly CoolerParts[],
): SharingCandidate[] {
  const rounding = roundingOf(parts);
  const sampleCount = Math.max(
    effectiveSampleCount,
    Math.max(0, ...all.map(({ parameterCount }) => parameterCount)) + 3,
  );
  const criteria = all.map(({ weightedSquares, parameterCount }) =>
    aicc({
      sumOfSquares: sampleCount * (weightedSquares / effectiveSampleCount + rounding),
      sampleCount,
      parameterCount,
    }),
  );
  // Where sharing is asked for, that it is not is no choice, but stands in the table.
  const asked = sharedBelowS !== undefined || (sharedStageCount ?? 0) > 0;
  const barred = (candidate: FittedSharing): boolean =>
    candidate.rejected !== undefined ||
    (asked &&
      candidate.sharedStageCount === 0 &&
      all.some((other) => other.sharedStageCount > 0 && other.rejected === undefined));
  const standing = all.map((candidate, c) => (barred(candidate) ? undefined : criteria[c]));
  const known = standing.filter((criterion) => criterion !== undefined);
  const weights = known.length === 0 ? all.map(() => 0) : akaikeWeights(standing);
  const least = Math.min(...known);
  const chosenIndex = standing.indexOf(least);
  return all.map(({ sharedStageCount, sensorLag, parameterCount, rejected }, c) => {
    const criterion = criteria[c];
    return {
      sharedStageCount,
      sensorLag,
      parameterCount,
      ...(criterion === undefined ? {} : { aicc: criterion }),
      weight: weights[c],
      chosen: c === chosenIndex,
      ...(rejected === undefined ? {} : { rejected }),
    };
  });
}

/** What rounding of the logs leaves, in the units of the weights. */
function roundingOf(parts: readonly CoolerParts[]): number {
  const shares = fitsOf(parts).flatMap(({ finished }) =>
    finished.noise.runRmsK.map((rmsK) => (LEAST_NOISE_K / Math.max(rmsK, LEAST_NOISE_K)) ** 2),
  );
  return sumOf(shares, (share) => share) / shares.length;
}

/** That nothing is shared where it could have been, and why. */
export function sharingFindingsOf(
  candidates: readonly SharingCandidate[],
  coolerCount: number,
  { sharedStageCount }: WantedSharing,
): Finding[] {
  const chosen = candidates.find((candidate) => candidate.chosen);
  if (coolerCount < 2 || sharedStageCount === 0 || (chosen !== undefined && chosen.sharedStageCount > 0))
    return [];
  const tried = candidates.filter((candidate) => candidate.sharedStageCount > 0);
  const behind =
    Math.min(...tried.map((candidate) => candidate.aicc ?? Number.POSITIVE_INFINITY)) - (chosen?.aicc ?? 0);
  const why =
    tried.length === 0
      ? 'each cooler shows a single stage'
      : behind > 0
        ? `separate ones describe them better (corrected Akaike criterion lower by ${formatNumber(behind)})`
        : `every way to share them was rejected (${tried[0].rejected})`;
  return [
    {
      code: 'die-side-not-shared',
      severity: 'note',
      message: `The die-side stages of the ${coolerCount} coolers were not taken as the same: ${why}. Each cooler was fitted on its own.`,
      remedy:
        'runs that begin with a minute of idle and are logged at about 1 Hz show the die side best; stages of die and cooler close together cannot be shared',
    },
  ];
}
