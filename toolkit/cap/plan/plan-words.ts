import { formatNumber } from '../../numerics/format-estimate.js';
import type { PowerCurve } from '../../power/power-curve.js';
import { powerDependenceKnown } from '../../power/predict/frequency-at.js';
import { BOARD_SHARE, COMMON_REFERENCE_UNCERTAINTY_K } from '../../thermal/fit/unseen-uncertainty.js';
import type { CandidateRun } from './candidate-runs.js';
import type { Subject } from './plan-subject.js';
import type { CapKnowledge, PlannedRun, StopLogging } from './run-plan.js';

/** Why no run is proposed. */
export function whyStop(what: {
  readonly subjects: readonly Subject[];
  readonly open: readonly Subject[];
  readonly unknown: readonly Subject[];
  readonly candidates: readonly CandidateRun[];
  readonly wantedHalfWidthW: number;
  readonly leastGainW: number;
}): StopLogging {
  const { subjects, open, unknown, candidates, wantedHalfWidthW, leastGainW } = what;
  if (open.length === 0) {
    const { ceiling } = subjects[0].prepared;
    return {
      reason: 'limit-does-not-bind',
      message: `the highest cap of ${formatNumber(ceiling.powerW, 'W')} holds the limit with room to spare on ${named(subjects)}, so no run changes the cap`,
    };
  }
  if (unknown.length === 0)
    return {
      reason: 'wanted-width-reached',
      message: `the interval of the cap is within ± ${formatNumber(wantedHalfWidthW, 'W')} already on ${named(open)}`,
    };
  const best = candidates[0];
  if (best === undefined)
    return {
      reason: 'no-run-allowed',
      message:
        'no cap considered stays below the limit where the cooler has been logged and within the lowest and highest cap; give powerCapsW, or log in cooler air',
    };
  return {
    reason: 'gain-too-small',
    message: `the best run, ${runInWords(best.planned)}, is expected to gain ${formatNumber(Math.max(0, round(best.planned.gainW)), 'W')}, less than ${formatNumber(leastGainW, 'W')}`,
  };
}

/** The plan in a sentence or two. */
export function summaryOf(
  sequence: readonly PlannedRun[],
  stop: StopLogging | undefined,
  known: readonly CapKnowledge[],
): string {
  if (stop !== undefined) return `Stop logging: ${stop.message}.`;
  const [first, ...later] = sequence;
  const place = known.find(({ cooler }) => cooler === first.cooler)?.placeHalfWidthW ?? 0;
  const then = later.map((run) => ` Then ${runInWords(run)}: to ± ${watts(run.halfWidthAfterW)} W.`);
  const rest =
    place > 0.05 ? ` Room and enclosure leave ± ${watts(place)} W open that no load run narrows.` : '';
  const intervalOf = known.length > 1 ? 'the interval of its cap' : "the cap's interval";
  return `Log ${runInWords(first)}: ${intervalOf} goes from ± ${watts(first.halfWidthNowW)} W to ± ${watts(first.halfWidthAfterW)} W.${then.join('')}${rest}`;
}

/** What the expected half-widths rest on. */
export function assumptionsOf(subjects: readonly Subject[], sampleIntervalS: number): readonly string[] {
  const airs = [...new Set(subjects.map(({ knowledge }) => round(knowledge.runAirK)))];
  return [
    `Further runs are logged every ${formatNumber(sampleIntervalS, 's')} in the place and with the thermometer of those before, from about ${formatNumber(Math.max(...subjects.map(({ knowledge }) => knowledge.startPowerW)), 'W')} of idling.`,
    `The air of each run is open by ${airs.map((air) => formatNumber(air)).join(' and ')} K (one standard deviation), the reference common to all runs by ${COMMON_REFERENCE_UNCERTAINTY_K} K, the path of the heat through the board by ${formatNumber(100 * BOARD_SHARE)} % of the resistance.`,
    subjects.some(({ knowledge }) => knowledge.mounts !== undefined)
      ? `The cap shall hold for the next mount as well where mounts are counted: ${subjects
          .filter(({ knowledge }) => knowledge.mounts !== undefined)
          .map(
            ({ label, knowledge }) =>
              `'${label}' ${formatNumber(100 * knowledge.mounts!.usedFraction)} % between mounts`,
          )
          .join(', ')}.`
      : "The cap is that of the cooler as it is mounted now; give mounting: 'any-mount' for one that holds after the next mount as well.",
    'The number of stages is taken to be right, and the outcome of a run not to change what the next one is worth. What the fit leaves out (a bend of convection that takes its time, the board) comes on top: with a slow cooler and short runs the interval can come out twice as wide as expected here, or wider.',
  ];
}

/** What to see to before and while the runs are logged. */
export function cautionsOf(
  subjects: readonly Subject[],
  known: readonly CapKnowledge[],
  curve: PowerCurve | undefined,
  sequence: readonly PlannedRun[],
): readonly string[] {
  const beyond = sequence.filter(({ cooler, powerCapW }) =>
    subjects.some(
      ({ label, prepared }) =>
        label === cooler &&
        prepared.ceiling.constraint === 'tested-range' &&
        powerCapW > prepared.ceiling.powerW,
    ),
  );
  const withoutStages = subjects.filter(({ prepared }) => prepared.cooler.poles === undefined);
  const ofPlace = known.filter(({ halfWidthW, placeHalfWidthW }) => placeHalfWidthW > halfWidthW);
  const serious = subjects.filter(({ prepared }) =>
    prepared.cooler.findings.some(({ severity }) => severity === 'serious'),
  );
  return [
    ...(serious.length === 0
      ? []
      : [
          `The fit of ${named(serious)} carries a serious finding: see to that before you trust what a further run would add.`,
        ]),
    ...(ofPlace.length === 0
      ? []
      : [
          `Room and enclosure leave more open than the cooler does on ${ofPlace.map(({ cooler }) => `'${cooler}'`).join(', ')}: measure the enclosure's rise (enclosureBetween) and narrow the room's range first.`,
        ]),
    ...(withoutStages.length === 0
      ? []
      : [
          `No time constants are known of ${named(withoutStages)}: let a run go on until the temperature has settled, whatever its duration here.`,
        ]),
    ...(curve !== undefined && powerDependenceKnown(curve)
      ? []
      : [
          'What a cap costs in frequency is not known yet: log the frequency as well, and at two caps or more.',
        ]),
    ...(beyond.length === 0
      ? []
      : [
          `${formatNumber(Math.max(...beyond.map(({ powerCapW }) => powerCapW)), 'W')} is more than was ever logged: give defaultCapW or maxCapW if the maker allows less.`,
        ]),
    'Loading a machine on purpose makes heat: stay beside it, within the makers’ limits for temperature, power and voltage, and leave its own thermal protection on.',
  ];
}

function runInWords({ cooler, powerCapW, durationS, remounted }: PlannedRun): string {
  return `${formatNumber(durationS / 60)} minutes at ${formatNumber(powerCapW, 'W')} with '${cooler}'${remounted ? ', mounted again before' : ''}`;
}

function watts(value: number): string {
  return value.toFixed(1);
}

function round(value: number): number {
  return Number(value.toFixed(2));
}

function named(subjects: readonly Subject[]): string {
  return subjects.map(({ label }) => `'${label}'`).join(', ');
}
