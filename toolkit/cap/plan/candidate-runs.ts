import { stepDown } from '../setting/step-down.js';
import { expectedTemperatureC, halfWidthOf, likelyHighestC, type Subject } from './plan-subject.js';
import { afterRun, type CoolerKnowledge, type RunToLog } from './run-information.js';
import type { PlannedRun } from './run-plan.js';

/** Caps considered, as shares of the power at the limit. */
const CAP_SHARES = [0.5, 0.65, 0.8, 0.9, 1, 1.1, 1.25];
const ROUND_STEP_W = 5;

/** Candidates within this share of the largest gain are as good, and the shortest of them is taken. */
const AS_GOOD = 0.95;

/** A run that could be logged, with what would then be known of its cooler. */
export interface CandidateRun {
  readonly subject: Subject;
  readonly knowledge: CoolerKnowledge;
  readonly planned: PlannedRun;
}

/** All runs considered for these coolers, the best first. */
export function candidateRuns(
  subjects: readonly Subject[],
  durationsS: readonly number[],
  powerCapsW: readonly number[] | undefined,
): readonly CandidateRun[] {
  return ranked(
    subjects.flatMap((subject) =>
      runsFor(subject, durationsS, powerCapsW).map((run) => candidateOf(subject, run)),
    ),
  );
}

/** The runs considered for one cooler: round caps that stay below the limit where it has been logged. */
function runsFor(
  subject: Subject,
  durationsS: readonly number[],
  powerCapsW: readonly number[] | undefined,
): readonly RunToLog[] {
  const { prepared, powerAtLimitW, knowledge } = subject;
  const { ceiling, floorW, scenario } = prepared;
  const stepW = Math.max(scenario.stepW, ROUND_STEP_W);
  const proposed = powerCapsW ?? [
    ...CAP_SHARES.map((share) => stepDown(share * powerAtLimitW, stepW)),
    stepDown(powerAtLimitW, scenario.stepW),
    ...(ceiling.constraint === 'tested-range' ? [] : [ceiling.powerW]),
  ];
  const highestW = ceiling.constraint === 'tested-range' ? Number.POSITIVE_INFINITY : ceiling.powerW;
  const allowed = [...new Set(proposed)]
    .filter((capW) => capW >= floorW && capW <= highestW && capW > 2 * knowledge.startPowerW)
    .filter((capW) => likelyHighestC(subject, capW) <= scenario.limitC)
    .sort((a, b) => a - b);
  const remounts = knowledge.mounts === undefined ? [false] : [false, true];
  // Without time constants nothing tells a short run from a long one: it has to settle.
  const lasting = prepared.cooler.poles === undefined ? [Math.max(...durationsS)] : durationsS;
  return allowed.flatMap((powerW) =>
    lasting.flatMap((durationS) => remounts.map((remounted) => ({ powerW, durationS, remounted }))),
  );
}

function candidateOf(subject: Subject, run: RunToLog): CandidateRun {
  const knowledge = afterRun(subject.knowledge, run);
  const halfWidthNowW = halfWidthOf(subject, subject.knowledge);
  // A run that tells nothing leaves the interval as it is.
  const halfWidthAfterW = Math.min(halfWidthNowW, halfWidthOf(subject, knowledge));
  return {
    subject,
    knowledge,
    planned: {
      cooler: subject.label,
      powerCapW: run.powerW,
      durationS: run.durationS,
      remounted: run.remounted,
      halfWidthNowW,
      halfWidthAfterW,
      gainW: halfWidthNowW - halfWidthAfterW,
      expectedTemperatureC: expectedTemperatureC(subject, run.powerW),
    },
  };
}

/** Those nearly as good as the best by their cost in time, then the others by their gain. */
function ranked(candidates: readonly CandidateRun[]): readonly CandidateRun[] {
  const best = candidates.reduce((most, { planned }) => Math.max(most, planned.gainW), 0);
  const isAsGood = ({ planned }: CandidateRun): boolean => planned.gainW >= AS_GOOD * best;
  return [...candidates].sort((a, b) => {
    const [first, second] = [isAsGood(a), isAsGood(b)];
    if (first !== second) return first ? -1 : 1;
    const byGain = b.planned.gainW - a.planned.gainW;
    if (!first) return byGain;
    return (
      a.planned.durationS - b.planned.durationS ||
      Number(a.planned.remounted) - Number(b.planned.remounted) ||
      byGain
    );
  });
}
