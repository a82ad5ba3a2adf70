import {
  ArgumentError,
  type KnownNames,
  requireKind,
  requireKnownNames,
  requireNumber,
} from '../../errors.js';
import { formatNumber } from '../../numerics/format-estimate.js';
import { increasingRoot } from '../../numerics/increasing-root.js';
import type { PowerCurve } from '../../power/power-curve.js';
import { powerDependenceKnown } from '../../power/predict/frequency-at.js';
import type { CoolerModel } from '../../thermal/cooler-model.js';
import { BOARD_SHARE, COMMON_REFERENCE_UNCERTAINTY_K } from '../../thermal/fit/unseen-uncertainty.js';
import { requireModel } from '../../thermal/require-model.js';
import type { CapScenario, UncertainInput } from '../scenario/cap-scenario.js';
import { centreOf } from '../scenario/uncertain-input.js';
import { type PreparedCap, prepareCap } from '../setting/prepared-cap.js';
import { stepDown } from '../setting/step-down.js';
import {
  afterRun,
  type CoolerKnowledge,
  knowledgeOf,
  type RunToLog,
  resistanceSpreadAt,
} from './run-information.js';
import type { CapKnowledge, PlannedRun, RunPlan, StopLogging } from './run-plan.js';

/** What is asked of a plan beside the scenario; everything has a default. */
export interface PlanOptions {
  /** Caps to consider, W. Default: from half to five quarters of the power at the limit, in round steps. */
  readonly powerCapsW?: readonly number[];
  /** Durations of the load to consider, s. Default 5, 10, 20 and 30 minutes. */
  readonly durationsS?: readonly number[];
  /** How often the runs will be sampled, s. Default 1. */
  readonly sampleIntervalS?: number;
  /**
   * `as-mounted`: the cap of this mount; `any-mount`: also of the next one, and remounting is considered. Default:
   * `any-mount` for a cooler that was logged with several mounts, of which it is the only answer, else `as-mounted`.
   */
  readonly mounting?: 'as-mounted' | 'any-mount';
  /** Stop where the half-width of the cap's interval is this or less, W. Default: the settable step. */
  readonly wantedHalfWidthW?: number;
  /** Stop where the best run is expected to gain less, W. Default: half the settable step. */
  readonly leastGainW?: number;
}

const OPTION_NAMES: KnownNames<PlanOptions> = {
  powerCapsW: true,
  durationsS: true,
  sampleIntervalS: true,
  mounting: true,
  wantedHalfWidthW: true,
  leastGainW: true,
};

/**
 * What `planNextRuns` considers where nothing else is asked for.
 *
 * @example
 * PLAN_DEFAULTS.durationsS; // => [300, 600, 1200, 1800]
 */
export const PLAN_DEFAULTS: {
  readonly durationsS: readonly number[];
  readonly sampleIntervalS: number;
} = { durationsS: [300, 600, 1200, 1800], sampleIntervalS: 1 };

/** Scenario entries that change what limits the cap in ways a plan of load runs does not follow. */
const UNPLANNED = ['fan', 'voltageOffset', 'workloads', 'dutyCycle', 'shortTerm', 'topFrequencyMHz'] as const;

/** Caps considered, as shares of the power at the limit. */
const CAP_SHARES = [0.5, 0.65, 0.8, 0.9, 1, 1.1, 1.25];
const ROUND_STEP_W = 5;
/** Candidates within this share of the largest gain are as good, and the shortest of them is taken. */
const AS_GOOD = 0.95;
const MOST_RUNS = 3;

/**
 * Which run to log next so that the interval of the cap shrinks most, and when to stop.
 *
 * The cap is where the steady temperature meets the limit, so its interval is that of the resistance at that power,
 * turned to watts. What is known of a cooler (time constants, resistances, exponent, common reference) is a normal
 * distribution; a run not yet logged is added by its expected information, the derivatives of its temperatures at the
 * fitted model over the noise and its correlation, with its start and its own air unknown [ChalonerVerdinelli1995].
 * Nothing of the run's outcome is needed for that: in a linear model the variance does not depend on it. A short run
 * tells little of a slow cooler, one at the power already logged nothing of the exponent, and the common reference stays.
 *
 * Assumes that the model's structure is right (what the fit leaves out comes on top, most with slow coolers and short
 * runs: on simulated rigs of richer physics the expected half-widths were three quarters of the achieved ones in the
 * median), and that the next run is logged as those before: same place,
 * thermometer and sampling. Runs that would pass the limit where the cooler has been logged are not proposed.
 *
 * @param coolers - one cooler or several, from `fitCooler` or `coolerFromSteadyPoints`; without stages, durations are taken
 *   to be long enough to settle
 * @param curve - the processor's power curve, or `undefined`
 * @param scenario - as for `chooseCap`, one lasting load: limit in degrees Celsius, powers in W
 * @param options - candidates and when to stop; see `PlanOptions`
 * @returns candidates with the expected half-widths in W, the best first; up to three runs one after the other
 * @throws ArgumentError naming the argument at fault
 * @throws NumericalError if the data of a cooler carry no cap at all
 * @example
 * const oneRun = coolerFromSteadyPoints([{ powerW: 60, temperatureC: 52, ambientC: 23 }], { label: 'tower 88 mm' });
 * const plan = planNextRuns(oneRun, undefined, { limitC: 85, ambientC: 26, defaultCapW: 118 });
 * plan.sequence[0].powerCapW > 90; // => true
 * plan.sequence[0].halfWidthAfterW < plan.sequence[0].halfWidthNowW; // => true
 */
export function planNextRuns(
  coolers: CoolerModel | readonly CoolerModel[],
  curve: PowerCurve | undefined,
  scenario: CapScenario,
  options: PlanOptions = {},
): RunPlan {
  const caller = 'planNextRuns';
  const list = requireCoolers(coolers, caller);
  if (curve !== undefined)
    requireKind(curve, 'power-curve', {
      caller,
      argument: 'curve',
      remedy: 'make one with fitPowerCurve, or give undefined',
    });
  requireKnownNames(options, OPTION_NAMES, { caller, argument: 'options' });
  requirePlannable(scenario, caller);
  const prepared = list.map((cooler) => prepareCap(cooler, curve, scenario, caller));
  const settled = prepared[0].scenario;
  const { durationsS, sampleIntervalS } = { ...PLAN_DEFAULTS, ...options };
  requireNumbers(durationsS, 'options.durationsS', caller);
  if (options.powerCapsW !== undefined) requireNumbers(options.powerCapsW, 'options.powerCapsW', caller);
  requireNumber(sampleIntervalS, { caller, argument: 'options.sampleIntervalS' }, { above: 0 });
  const wantedHalfWidthW = options.wantedHalfWidthW ?? settled.stepW;
  requireNumber(wantedHalfWidthW, { caller, argument: 'options.wantedHalfWidthW' }, { above: 0 });
  const leastGainW = options.leastGainW ?? settled.stepW / 2;
  requireNumber(leastGainW, { caller, argument: 'options.leastGainW' }, { above: 0 });
  requireMounting(options.mounting, list, caller);

  const subjects = prepared.map((one) =>
    subjectOf(one, { sampleS: sampleIntervalS, forNextMount: options.mounting === 'any-mount' }),
  );
  const known = subjects.map(
    (subject): CapKnowledge => ({
      cooler: subject.label,
      powerAtLimitW: subject.powerAtLimitW,
      halfWidthW: halfWidthOf(subject, subject.knowledge),
      placeHalfWidthW: subject.placeHalfWidthW,
      limitBinds: limitBinds(subject),
    }),
  );
  const open = subjects.filter((_, i) => known[i].limitBinds);
  const rank = (states: readonly Subject[]): readonly Ranked[] =>
    ranked(
      states.flatMap((subject) =>
        runsFor(subject, durationsS, options.powerCapsW).map((run) => candidateOf(subject, run)),
      ),
    );
  const first = rank(open);
  const sequence: PlannedRun[] = [];
  let states: readonly Subject[] = open;
  let candidates = first;
  const unknown = (of: readonly Subject[]): readonly Subject[] =>
    of.filter((subject) => halfWidthOf(subject, subject.knowledge) > wantedHalfWidthW);
  for (let run = 0; run < MOST_RUNS; run++) {
    states = unknown(states);
    candidates = run === 0 && states.length === open.length ? first : rank(states);
    const best = candidates[0];
    if (best === undefined || best.planned.gainW < leastGainW) break;
    sequence.push(best.planned);
    states = states.map((subject) =>
      subject === best.subject ? { ...subject, knowledge: best.knowledge } : subject,
    );
  }
  const stop =
    sequence.length > 0
      ? undefined
      : whyStop({ subjects, open, unknown: unknown(open), candidates, wantedHalfWidthW, leastGainW });
  return {
    kind: 'run-plan',
    candidates: first.map(({ planned }) => planned),
    sequence,
    coolers: known,
    ...(stop === undefined ? {} : { stop }),
    wantedHalfWidthW,
    leastGainW,
    assumptions: assumptionsOf(subjects, sampleIntervalS),
    summary: summaryOf(sequence, stop, known),
    cautions: cautionsOf(subjects, known, curve, sequence),
    scenario: settled,
  };
}

/** A cooler with what is known of it and where its cap lies. */
interface Subject {
  readonly label: string;
  readonly prepared: PreparedCap;
  readonly knowledge: CoolerKnowledge;
  readonly powerAtLimitW: number;
  /** Rise of the die over the intake air there, K. */
  readonly dieRiseK: number;
  /** dT/dP there, die and enclosure together, K/W. */
  readonly slopeKPerW: number;
  readonly placeHalfWidthW: number;
  /** Air where the cooler has been logged, degrees Celsius. */
  readonly loggingAirC: number;
}

interface Ranked {
  readonly subject: Subject;
  readonly knowledge: CoolerKnowledge;
  readonly planned: PlannedRun;
}

function subjectOf(
  prepared: PreparedCap,
  options: { readonly sampleS: number; readonly forNextMount: boolean },
): Subject {
  const { cooler, scenario, meanLimitC } = prepared;
  const law = cooler.resistanceLaw;
  const dieRiseK = (powerW: number): number =>
    powerW * law.thermalResistanceKPerW * (powerW / law.atPowerW) ** -law.powerExponent;
  const { enclosure } = scenario;
  const enclosureRiseK = (powerW: number): number =>
    enclosure === undefined
      ? 0
      : centreOf(enclosure.riseK) * (enclosure.atPowerW === undefined ? 1 : powerW / enclosure.atPowerW);
  const roomC = centreOf(scenario.ambientC);
  const powerAtLimitW = increasingRoot(
    (powerW) => roomC + dieRiseK(powerW) + enclosureRiseK(powerW) - meanLimitC,
    1e-6 * law.atPowerW,
    16 * law.atPowerW,
  );
  const stepW = 1e-3 * powerAtLimitW;
  const slopeKPerW =
    (dieRiseK(powerAtLimitW + stepW) +
      enclosureRiseK(powerAtLimitW + stepW) -
      dieRiseK(powerAtLimitW - stepW) -
      enclosureRiseK(powerAtLimitW - stepW)) /
    (2 * stepW);
  const scale = enclosure?.atPowerW === undefined ? 1 : powerAtLimitW / enclosure.atPowerW;
  const placeSpreadK = Math.hypot(
    standardDeviationOf(scenario.ambientC),
    enclosure === undefined ? 0 : scale * standardDeviationOf(enclosure.riseK),
  );
  return {
    label: cooler.cooler ?? cooler.label,
    prepared,
    knowledge: knowledgeOf(cooler, options),
    powerAtLimitW,
    dieRiseK: dieRiseK(powerAtLimitW),
    slopeKPerW,
    placeHalfWidthW: (Z95 * placeSpreadK) / slopeKPerW,
    loggingAirC: cooler.ambientC.value ?? roomC,
  };
}

const Z95 = 1.959964;

function standardDeviationOf(input: UncertainInput): number {
  if (typeof input === 'number') return 0;
  return 'low' in input ? (input.high - input.low) / Math.sqrt(12) : input.standardDeviation;
}

function halfWidthOf({ powerAtLimitW, dieRiseK, slopeKPerW }: Subject, knowledge: CoolerKnowledge): number {
  const { halfWidthFraction } = resistanceSpreadAt(knowledge, powerAtLimitW);
  return (halfWidthFraction * dieRiseK) / slopeKPerW;
}

/** Whether the limit, and not the scenario's highest cap, decides: it may lie within both half-widths of it. */
function limitBinds(subject: Subject): boolean {
  const { ceiling } = subject.prepared;
  if (ceiling.constraint === 'tested-range') return true;
  const halfWidthW = Math.hypot(halfWidthOf(subject, subject.knowledge), subject.placeHalfWidthW);
  return subject.powerAtLimitW - halfWidthW < ceiling.powerW;
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

function expectedTemperatureC({ prepared, loggingAirC }: Subject, powerW: number): number {
  const { thermalResistanceKPerW, atPowerW, powerExponent } = prepared.cooler.resistanceLaw;
  return loggingAirC + powerW * thermalResistanceKPerW * (powerW / atPowerW) ** -powerExponent;
}

/** Upper end of the 95 % interval of that temperature, degrees Celsius. */
function likelyHighestC(subject: Subject, powerW: number): number {
  const temperatureC = expectedTemperatureC(subject, powerW);
  const { halfWidthFraction } = resistanceSpreadAt(subject.knowledge, powerW);
  return temperatureC + halfWidthFraction * (temperatureC - subject.loggingAirC);
}

function candidateOf(subject: Subject, run: RunToLog): Ranked {
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
function ranked(candidates: readonly Ranked[]): readonly Ranked[] {
  const best = candidates.reduce((most, { planned }) => Math.max(most, planned.gainW), 0);
  const isAsGood = ({ planned }: Ranked): boolean => planned.gainW >= AS_GOOD * best;
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

function whyStop(what: {
  readonly subjects: readonly Subject[];
  readonly open: readonly Subject[];
  readonly unknown: readonly Subject[];
  readonly candidates: readonly Ranked[];
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

function summaryOf(
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

function runInWords({ cooler, powerCapW, durationS, remounted }: PlannedRun): string {
  return `${formatNumber(durationS / 60)} minutes at ${formatNumber(powerCapW, 'W')} with '${cooler}'${remounted ? ', mounted again before' : ''}`;
}

function watts(value: number): string {
  return value.toFixed(1);
}

function round(value: number): number {
  return Number(value.toFixed(2));
}

function assumptionsOf(subjects: readonly Subject[], sampleIntervalS: number): readonly string[] {
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

function cautionsOf(
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

function named(subjects: readonly Subject[]): string {
  return subjects.map(({ label }) => `'${label}'`).join(', ');
}

function requireCoolers(value: unknown, caller: string): readonly CoolerModel[] {
  if (!Array.isArray(value)) {
    requireModel(value as CoolerModel, caller, 'coolers');
    return [value as CoolerModel];
  }
  if (value.length === 0)
    throw new ArgumentError({
      caller,
      argument: 'coolers',
      expected: 'one cooler model or more',
      received: value,
      remedy: 'log a first run of about 20 minutes at a moderate cap and fit it with fitCooler',
    });
  value.forEach((model: unknown, i) => {
    requireModel(model, caller, `coolers[${i}]`);
  });
  return value as readonly CoolerModel[];
}

function requirePlannable(scenario: CapScenario, caller: string): void {
  if (typeof scenario !== 'object' || scenario === null) return; // refused by name when it is settled
  for (const name of UNPLANNED) {
    if (scenario[name] === undefined) continue;
    throw new ArgumentError({
      caller,
      argument: `scenario.${name}`,
      expected: 'left out of a plan',
      received: scenario[name],
      remedy: 'a plan is for one lasting load on the cooler as it was logged',
    });
  }
}

function requireNumbers(
  values: unknown,
  argument: string,
  caller: string,
): asserts values is readonly number[] {
  if (!Array.isArray(values) || values.length === 0)
    throw new ArgumentError({ caller, argument, expected: 'a list of numbers', received: values });
  values.forEach((value: unknown, i) => {
    requireNumber(value, { caller, argument: `${argument}[${i}]` }, { above: 0 });
  });
}

function requireMounting(mounting: unknown, coolers: readonly CoolerModel[], caller: string): void {
  const where = { caller, argument: 'options.mounting', received: mounting };
  if (mounting === undefined || mounting === 'any-mount') return;
  if (mounting !== 'as-mounted')
    throw new ArgumentError({ ...where, expected: "'as-mounted' or 'any-mount'" });
  const several = coolers.find(({ findings }) => findings.some(({ code }) => code === 'several-mounts'));
  if (several === undefined) return;
  throw new ArgumentError({
    ...where,
    expected: `'any-mount', since '${several.label}' was fitted from several mounts and speaks of the next one`,
    remedy: 'fit the runs of one mount alone for a plan of that mount',
  });
}
