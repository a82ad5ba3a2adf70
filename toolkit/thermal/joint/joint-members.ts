import { sumOf } from '../../numerics/sum-of.js';
import type { LadderRung } from '../cooler-model.js';
import { type FittedCandidate, totalOf } from '../fit/fit-candidate.js';
import type { OneCoolerFit } from '../fit/fit-one-cooler.js';
import { FAN_SHARE_START } from '../fit/fit-structure.js';
import { ladderFromPoles } from '../ladder.js';
import type { CoolerParts } from './cooler-parts.js';
import { isOfRuns, type JointMember, RUNG_NAMES, type Sharing } from './joint-candidate.js';

/** Which structures of the separate fits a joint fit is made of. */
export type Ways = Pick<Sharing, 'sensorLag' | 'fewerStages'>;

/** The best such candidate of a separate fit; the chosen one where there is none of that kind. */
export function bestWith({ finished }: OneCoolerFit, { sensorLag, fewerStages = 0 }: Ways): FittedCandidate {
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

/** The members of a joint fit; assumed exponents may be moved by some standard deviations. */
export function jointMembers(
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
      if (isOfRuns(name) === (candidate === chosen)) starts.set(name, candidate.minimum.parameters[i]);
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
