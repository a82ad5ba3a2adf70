import type { PowerCurve } from '../../power/power-curve.js';
import type { CoolerModel } from '../../thermal/cooler-model.js';
import type { CapScenario } from '../scenario/cap-scenario.js';
import { prepareCap } from '../setting/prepared-cap.js';
import { type CandidateRun, candidateRuns } from './candidate-runs.js';
import { type PlanOptions, requirePlanArguments, settlePlanOptions } from './plan-options.js';
import { halfWidthOf, limitBinds, type Subject, subjectOf } from './plan-subject.js';
import { assumptionsOf, cautionsOf, summaryOf, whyStop } from './plan-words.js';
import type { CapKnowledge, PlannedRun, RunPlan } from './run-plan.js';

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
  const list = requirePlanArguments(coolers, curve, scenario, options, caller);
  const prepared = list.map((cooler) => prepareCap(cooler, curve, scenario, caller));
  const settled = prepared[0].scenario;
  const { powerCapsW, durationsS, sampleIntervalS, forNextMount, wantedHalfWidthW, leastGainW } =
    settlePlanOptions(options, list, settled.stepW, caller);

  const subjects = prepared.map((one) => subjectOf(one, { sampleS: sampleIntervalS, forNextMount }));
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
  const rank = (states: readonly Subject[]): readonly CandidateRun[] =>
    candidateRuns(states, durationsS, powerCapsW);
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
