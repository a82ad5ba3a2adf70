import { Matrix } from 'ml-matrix';
import { NumericalError } from '../../errors.js';
import { studentTQuantile } from '../../numerics/distributions.js';
import type { Estimate } from '../../numerics/estimate.js';
import { estimated } from '../../numerics/estimates.js';
import { formatNumber } from '../../numerics/format-estimate.js';
import { aicc, akaikeWeights } from '../../numerics/information-criterion.js';
import type { Finding } from '../../runs/finding.js';
import type { Run } from '../../runs/run.js';
import type { CoolerModel, LadderRung } from '../cooler-model.js';
import type { MeasuredEnclosure } from '../enclosure-between.js';
import { ladderFromPoles } from '../ladder.js';
import type { FittedCandidate } from './fit-candidate.js';
import { fitFindings } from './fit-findings.js';
import {
  commonGroundOf,
  type FitSettings,
  fitOneCooler,
  MOST_STAGES,
  type OneCoolerFit,
} from './fit-one-cooler.js';
import { mountsOf } from './fit-record.js';
import { FAN_SHARE_START } from './fit-structure.js';
import {
  fitJointCandidate,
  type JointCandidate,
  type JointMember,
  RUNG_NAMES,
  type Sharing,
} from './joint-candidate.js';
import type { JointFit, SharingCandidate } from './joint-fit.js';
import { meanLoadPowerW } from './load-power.js';
import {
  COMMON_REFERENCE_UNCERTAINTY_K,
  LEAST_DEGREES_OF_FREEDOM,
  modelOfCandidates,
  positiveEstimate,
  referenceVarianceK2,
} from './model-of-candidates.js';
import { LEAST_NOISE_K } from './residual-correlation.js';

/** Runs of one cooler, by place. */
export interface CoolerRuns {
  readonly cooler: string;
  /** On the bench; or all of them, where none is. */
  readonly bench: readonly Run[];
  readonly inEnclosures: readonly { readonly enclosure: string; readonly runs: readonly Run[] }[];
}

/** One cooler of a joint fit, fitted on its own: on the bench, and in each enclosure. */
interface CoolerParts {
  readonly cooler: string;
  readonly bench: OneCoolerFit;
  readonly inEnclosures: readonly { readonly enclosure: string; readonly fit: OneCoolerFit }[];
}

/** A candidate with its criterion; the joint fit behind it is missing where all coolers were fitted separately. */
interface Weighed extends Sharing {
  readonly joint?: JointCandidate;
  readonly weightedSquares: number;
  readonly parameterCount: number;
  readonly rejected?: string;
}

/** How much the caller wants shared; the data choose where neither is given. */
interface WantedSharing {
  readonly sharedStageCount: number | undefined;
  readonly sharedBelowS: number | undefined;
}

/** Fits coolers together; see `fitCoolers`. The runs were checked and sorted. */
export function jointFitOf(
  coolers: readonly CoolerRuns[],
  settings: FitSettings,
  wanted: WantedSharing,
  caller: string,
): JointFit {
  const parts = coolers.map((runs) => fitParts(runs, settings, caller));
  const effectiveSampleCount = sumOf(
    membersFitsOf(parts),
    ({ finished }) => finished.table.effectiveSampleCount,
  );
  const separate = separateFits(parts);
  const all = separate === undefined ? [] : [separate];
  for (const fewerStages of [0, 1]) {
    // One stage fewer only where the stages that each has on its own lead nowhere together.
    if (all.some(({ rejected }) => rejected === undefined) && fewerStages > 0) break;
    all.push(...sharingsOf(parts, wanted, fewerStages).map((sharing) => fitSharing(parts, sharing)));
  }
  const candidates = weighSharings(all, wanted, effectiveSampleCount, roundingOf(parts));
  const chosen = all[candidates.findIndex((candidate) => candidate.chosen)];
  if (chosen === undefined) throw noJointFit(all, caller);
  const sharingFindings = sharingFindingsOf(candidates, coolers, wanted);
  if (chosen.joint === undefined) {
    return {
      kind: 'joint-fit',
      models: parts.map(({ bench }) => bench.model),
      shared: { rungs: [] },
      enclosures: [],
      candidates,
      covariance: { parameters: [], matrix: [] },
      findings: sharingFindings,
    };
  }
  return stateJointFit({
    parts,
    all,
    candidates,
    joint: chosen.joint,
    effectiveSampleCount,
    sharingFindings,
  });
}

function fitParts(
  { cooler, bench, inEnclosures }: CoolerRuns,
  settings: FitSettings,
  caller: string,
): CoolerParts {
  // Bench and enclosure are of one cooler: its mounts and its fan are the same in both.
  const runs = [...bench, ...inEnclosures.flatMap((place) => place.runs)];
  const common = { ...commonGroundOf(runs, settings), mounts: mountsOf(runs) };
  const own = { ...settings, label: cooler };
  return {
    cooler,
    bench: fitOneCooler(bench, own, caller, common),
    inEnclosures: inEnclosures.map((place) => ({
      enclosure: place.enclosure,
      fit: fitOneCooler(place.runs, own, caller, common),
    })),
  };
}

function noJointFit(all: readonly Weighed[], caller: string): NumericalError {
  const reasons = [...new Set(all.map(({ rejected }) => rejected))];
  return new NumericalError(
    `${caller}: no model describes the runs together (${reasons.join('; ')}); fit the runs of each cooler and place ` +
      'with fitCooler and look at its findings',
  );
}

function membersFitsOf(parts: readonly CoolerParts[]): OneCoolerFit[] {
  return parts.flatMap(({ bench, inEnclosures }) => [bench, ...inEnclosures.map(({ fit }) => fit)]);
}

/** Which structures of the separate fits a joint fit is made of. */
type Ways = Pick<Sharing, 'sensorLag' | 'fewerStages'>;

/** The best such candidate of a separate fit; the chosen one where there is none of that kind. */
function bestWith({ finished }: OneCoolerFit, { sensorLag, fewerStages = 0 }: Ways): FittedCandidate {
  const { candidates, table } = finished;
  const mostStages = Math.max(1, table.chosen.structure.stageCount - fewerStages);
  let best: FittedCandidate | undefined;
  let least = Number.POSITIVE_INFINITY;
  candidates.forEach((candidate, c) => {
    const criterion = table.orders[c].aicc ?? Number.MAX_VALUE;
    if (candidate.rejected !== undefined || candidate.structure.sensorLag !== sensorLag) return;
    if (fewerStages > 0 && candidate.structure.stageCount > mostStages) return;
    if (criterion < least) {
      best = candidate;
      least = criterion;
    }
  });
  return best ?? table.chosen;
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
function separateFits(parts: readonly CoolerParts[]): Weighed | undefined {
  if (parts.some(({ inEnclosures }) => inEnclosures.length > 0)) return undefined;
  const chosen = parts.map(({ bench }) => bench.finished.table.chosen);
  return {
    sharedStageCount: 0,
    sensorLag: chosen.some(({ structure }) => structure.sensorLag),
    weightedSquares: sumOf(chosen, ({ weightedSquares }) => weightedSquares),
    parameterCount: sumOf(chosen, ({ layout, structure }) => layout.count + structure.stageCount),
  };
}

function fitSharing(parts: readonly CoolerParts[], sharing: Sharing): Weighed {
  const joint = fitJointCandidate(jointMembers(parts, sharing), sharing);
  return {
    ...sharing,
    joint,
    weightedSquares: joint.weightedSquares,
    parameterCount: joint.names.length,
    ...(joint.rejected === undefined ? {} : { rejected: joint.rejected }),
  };
}

/** The members of a joint fit; assumed exponents may be moved by some standard deviations. */
function jointMembers(
  parts: readonly CoolerParts[],
  { sharedStageCount, ...ways }: Sharing,
  exponentSpreads = 0,
): JointMember[] {
  const bests = parts.map(({ bench }) => bestWith(bench, ways));
  const shared = sharedRungs(bests.map(ladderOf), sharedStageCount);
  return parts.flatMap(({ cooler, bench, inEnclosures }, c): JointMember[] => {
    const best = bests[c];
    const ladder = [...shared, ...ownRungs(best, shared)];
    const alone = bench.structureOf(ladder.length, ways.sensorLag);
    const structure = {
      ...alone,
      powerExponent: alone.powerExponent + exponentSpreads * bench.assumedExponentError,
    };
    const memberOf = (fit: OneCoolerFit, rungs: readonly LadderRung[]): Omit<JointMember, 'structure'> => ({
      cooler,
      record: fit.finished.record,
      sampleWeights: fit.finished.sampleWeights,
      startOf: startsFrom(fit, best, rungs),
    });
    const behind = enclosureRung(best);
    return [
      { ...memberOf(bench, ladder), structure },
      ...inEnclosures.map(({ enclosure, fit }) => ({
        ...memberOf(fit, [...ladder, behind]),
        enclosure,
        structure: { ...structure, stageCount: ladder.length + 1, enclosure: true },
      })),
    ];
  });
}

function ladderOf({ timeConstantsS, resistancesKPerW }: FittedCandidate): readonly LadderRung[] {
  return ladderFromPoles(
    timeConstantsS.map((timeConstantS, k) => ({ timeConstantS, resistanceKPerW: resistancesKPerW[k] })),
  );
}

/** The middle of the coolers' rungs nearest the die, of those coolers that show a rung of their own behind them. */
function sharedRungs(ladders: readonly (readonly LadderRung[])[], count: number): LadderRung[] {
  return Array.from({ length: count }, (_, k) => {
    const seen = ladders.filter((ladder) => ladder.length > k + 1).map((ladder) => ladder[k]);
    const middle = (of: (rung: LadderRung) => number): number =>
      Math.exp(sumOf(seen, (rung) => Math.log(of(rung))) / Math.max(1, seen.length));
    return {
      heatCapacityJPerK: middle((rung) => rung.heatCapacityJPerK),
      resistanceKPerW: middle((rung) => rung.resistanceKPerW),
    };
  });
}

/** A cooler's rungs behind the shared ones: as it shows them, or what its total and slowest time constant leave. */
function ownRungs(best: FittedCandidate, shared: readonly LadderRung[]): readonly LadderRung[] {
  const own = ladderOf(best).slice(shared.length);
  if (own.length > 0) return own;
  const total = totalOf(best);
  const left = total - sumOf(shared, (rung) => rung.resistanceKPerW);
  const resistanceKPerW = Math.max(left, 0.1 * total);
  const slowestS = best.timeConstantsS[best.timeConstantsS.length - 1];
  return [{ heatCapacityJPerK: slowestS / resistanceKPerW, resistanceKPerW }];
}

/** Where the search for an enclosure starts: a small resistance, as slow as the cooler. */
function enclosureRung(best: FittedCandidate): LadderRung {
  const resistanceKPerW = 0.15 * totalOf(best);
  return {
    heatCapacityJPerK: best.timeConstantsS[best.timeConstantsS.length - 1] / resistanceKPerW,
    resistanceKPerW,
  };
}

function startsFrom(
  fit: OneCoolerFit,
  best: FittedCandidate,
  ladder: readonly LadderRung[],
): (name: string) => number | undefined {
  const { chosen } = fit.finished.table;
  const starts = new Map<string, number>([['logSensorLagS', Math.log(3 * fit.finished.record.medianStepS)]]);
  // What is of the runs is as the separate fit of these runs found it; what is of the cooler, as on the bench.
  for (const candidate of [chosen, best]) {
    candidate.layout.names.forEach((name, i) => {
      const ofRun = name.startsWith('startPowerW[') || name.startsWith('ambientOffsetK[');
      if (ofRun === (candidate === chosen)) starts.set(name, candidate.minimum.parameters[i]);
    });
  }
  const fanShare = best.fan?.share ?? FAN_SHARE_START;
  starts.set('fanShare', fanShare * best.resistancesKPerW[best.resistancesKPerW.length - 1]);
  ladder.forEach(({ heatCapacityJPerK, resistanceKPerW }, k) => {
    starts.set(RUNG_NAMES.heatCapacity(k + 1), Math.log(heatCapacityJPerK));
    starts.set(RUNG_NAMES.resistance(k + 1), Math.log(resistanceKPerW));
  });
  return (name) => starts.get(name);
}

/** What rounding of the logs leaves, in the units of the weights. */
function roundingOf(parts: readonly CoolerParts[]): number {
  const shares = membersFitsOf(parts).flatMap(({ finished }) =>
    finished.noise.runRmsK.map((rmsK) => (LEAST_NOISE_K / Math.max(rmsK, LEAST_NOISE_K)) ** 2),
  );
  return sumOf(shares, (share) => share) / shares.length;
}

function weighSharings(
  all: readonly Weighed[],
  { sharedStageCount, sharedBelowS }: WantedSharing,
  effectiveSampleCount: number,
  rounding: number,
): SharingCandidate[] {
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
  const barred = (candidate: Weighed): boolean =>
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

function sharingFindingsOf(
  candidates: readonly SharingCandidate[],
  coolers: readonly CoolerRuns[],
  { sharedStageCount }: WantedSharing,
): Finding[] {
  const chosen = candidates.find((candidate) => candidate.chosen);
  if (coolers.length < 2 || sharedStageCount === 0 || (chosen !== undefined && chosen.sharedStageCount > 0))
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
      message: `The die-side stages of the ${coolers.length} coolers were not taken as the same: ${why}. Each cooler was fitted on its own.`,
      remedy:
        'Runs that begin with a minute of idle and are logged at about 1 Hz show the die side best; stages of die and cooler close together cannot be shared.',
    },
  ];
}

/** The joint fit as models, enclosures and covariance. */
function stateJointFit(input: {
  readonly parts: readonly CoolerParts[];
  readonly all: readonly Weighed[];
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

interface Chosen {
  readonly all: readonly Weighed[];
  readonly candidates: readonly SharingCandidate[];
  readonly joint: JointCandidate;
  readonly residualScale: number;
  readonly degreesOfFreedom: number;
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
  }: Chosen & { readonly shifted: JointCandidate | undefined },
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

/** What each enclosure adds, with the uncertainty of the fit, of the ways to share, and of the air on both sides. */
function enclosuresOf(
  parts: readonly CoolerParts[],
  {
    all,
    candidates,
    joint,
    matrix,
    degreesOfFreedom,
  }: Chosen & { readonly matrix: readonly (readonly number[])[] },
): { readonly enclosures: MeasuredEnclosure[]; readonly findings: Finding[] } {
  const names = [
    ...new Set(parts.flatMap(({ inEnclosures }) => inEnclosures.map(({ enclosure }) => enclosure))),
  ];
  const coverage = studentTQuantile(0.975, degreesOfFreedom);
  const findings: Finding[] = [];
  const enclosures = names.flatMap((enclosure): MeasuredEnclosure[] => {
    const placeIn = ({ names: keys }: JointCandidate, name: string): number =>
      keys.indexOf(`${enclosure}: ${name}`);
    const resistanceOf = (candidate: JointCandidate): number =>
      Math.exp(candidate.values[placeIn(candidate, RUNG_NAMES.resistance(1))]);
    const value = resistanceOf(joint);
    const inside = parts.flatMap(({ inEnclosures }) =>
      inEnclosures.filter((place) => place.enclosure === enclosure),
    );
    const outside = parts.filter(({ inEnclosures }) =>
      inEnclosures.some((place) => place.enclosure === enclosure),
    );
    const powersW = inside.flatMap(({ fit }) => fit.finished.record.runs.map(meanLoadPowerW));
    const atPowerW = Math.exp(sumOf(powersW, Math.log) / powersW.length);
    const place = placeIn(joint, RUNG_NAMES.resistance(1));
    const airVarianceK2 =
      sumOf(inside, ({ fit }) => referenceVarianceK2(fit.finished.record)) / inside.length ** 2 +
      sumOf(outside, ({ bench }) => referenceVarianceK2(bench.finished.record)) / outside.length ** 2;
    const spread = sumOf(all, ({ joint: other }, c) =>
      other === undefined ? 0 : candidates[c].weight * (resistanceOf(other) - value) ** 2,
    );
    const standardError = Math.sqrt(
      value ** 2 * matrix[place][place] + airVarianceK2 / atPowerW ** 2 + spread,
    );
    if (value < standardError) {
      findings.push(withoutEffect(enclosure));
      return [];
    }
    const slow = placeIn(joint, RUNG_NAMES.heatCapacity(1));
    const heatCapacityJPerK = Math.exp(joint.values[slow]);
    return [
      {
        kind: 'measured-enclosure',
        enclosure,
        atPowerW,
        thermalResistanceKPerW: estimated(value, standardError, { degreesOfFreedom }),
        heatCapacityJPerK: positiveEstimate(
          heatCapacityJPerK,
          heatCapacityJPerK * Math.sqrt(matrix[slow][slow]),
          coverage,
        ),
        riseK: estimated(value * atPowerW, standardError * atPowerW, { degreesOfFreedom }),
        scenario: {
          riseK: { mean: value * atPowerW, standardDeviation: standardError * atPowerW },
          atPowerW,
        },
      },
    ];
  });
  return { enclosures, findings };
}

function withoutEffect(enclosure: string): Finding {
  return {
    code: 'enclosure-without-effect',
    severity: 'serious',
    message: `The runs in "${enclosure}" are no warmer over their air than those on the bench.`,
    remedy:
      'Give the room as the air of the enclosure runs, not the air at the intake inside the enclosure; check that mount and fan speed were the same.',
  };
}

function totalOf({ resistancesKPerW }: FittedCandidate): number {
  return sumOf(resistancesKPerW, (resistance) => resistance);
}

function rootMeanSquare(values: Float64Array): number {
  return Math.sqrt(values.reduce((sum, value) => sum + value ** 2, 0) / values.length);
}

function sumOf<Item>(items: readonly Item[], of: (item: Item, index: number) => number): number {
  return items.reduce((sum, item, index) => sum + of(item, index), 0);
}
