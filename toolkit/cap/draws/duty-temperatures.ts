import type { CoolerModel } from '../../thermal/cooler-model.js';
import type { DutyPhase } from '../scenario/cap-scenario.js';
import type { Load } from './load.js';
import {
  type MomentWeights,
  meansOf,
  momentWeights,
  type PowerCourse,
  riseAtMoment,
  type StageShape,
  type StageShapes,
  stageShapes,
  stageTemperatures,
} from './stage-temperatures.js';
import type { SteadyDraws } from './steady-draws.js';
import type { TemperatureDraws } from './temperature-draws.js';

/** Places in each phase where the highest temperature is looked for, as shares of the phase, its end among them. */
const LOOKED_AT: readonly number[] = [0.02, 0.05, 0.1, 0.2, 0.3, 0.45, 0.6, 0.8, 1];
/** Places in a phase whose mean stands for the phase. */
const AVERAGED_AT: readonly number[] = [0.125, 0.375, 0.625, 0.875];

/** A moment in the cycle: the phase, and how far it has got. */
interface Moment {
  readonly phase: number;
  readonly shareFraction: number;
}

/**
 * Temperatures of a cycle of loads that has repeated until it no longer changes: each stage follows the powers of the
 * phases, which are the cap or the phase's own demand, whichever is less; see `stageTemperatures`. An enclosure whose
 * rise scales with power feels the cycle's mean power.
 *
 * @returns the phases as loads, each at its mean temperature, and the cycle's highest temperature
 * @throws ArgumentError where the cooler has no stages
 */
export function dutyTemperatures(
  cooler: CoolerModel,
  steady: SteadyDraws,
  phases: readonly DutyPhase[],
  caller: string,
): { readonly loads: readonly Load[]; readonly binding: TemperatureDraws } {
  const shapes = stageShapes(cooler, caller);
  const periodS = phases.reduce((sum, { durationS }) => sum + durationS, 0);
  const course = (moments: readonly Moment[], counts: PowerCourse['counts']): PowerCourse => ({
    powersUnder: (powerCapW) => phasePowers(phases, powerCapW),
    enclosurePowerW: (powersW) =>
      phases.reduce((sum, { durationS }, j) => sum + durationS * powersW[j], 0) / periodS,
    mostW: Math.max(...phases.map(({ demandW }) => demandW ?? Number.POSITIVE_INFINITY)),
    weightsOf: (shape) => moments.map((moment) => weightsAt(phases, shape, moment)),
    counts,
  });
  const binding = stageTemperatures(
    steady,
    shapes,
    course(hottestMoments(phases, steady, shapes), 'highest'),
  );
  const loads = phases.map(({ label, durationS, demandW }, j): Load => {
    const moments = AVERAGED_AT.map((shareFraction) => ({ phase: j, shareFraction }));
    const temperatures = stageTemperatures(steady, shapes, course(moments, 'mean'));
    return {
      label: label ?? `phase ${j + 1}`,
      shareFraction: durationS / periodS,
      temperatures,
      ...(demandW === undefined ? {} : { demand: demandW }),
    };
  });
  return { loads, binding };
}

function phasePowers(phases: readonly DutyPhase[], powerCapW: number): Float64Array {
  return Float64Array.from(phases, ({ demandW }) => Math.min(powerCapW, demandW ?? powerCapW));
}

function weightsAt(phases: readonly DutyPhase[], shape: StageShape, moment: Moment): MomentWeights {
  return momentWeights(shape, (timeConstantS) => followed(phases, timeConstantS, moment));
}

/** What a unit of power in each phase, for ever repeated, has made of a stage at a moment. */
function followed(phases: readonly DutyPhase[], timeConstantS: number, moment: Moment): Float64Array {
  const weights = new Float64Array(phases.length);
  const periodS = phases.reduce((sum, { durationS }) => sum + durationS, 0);
  const wholePeriod = -Math.expm1(-periodS / timeConstantS);
  const intoPhaseS = moment.shareFraction * phases[moment.phase].durationS;
  let sinceEndS = intoPhaseS; // since the end of phase j, walking backwards from the moment
  for (let back = 1; back < phases.length; back++) {
    const j = (moment.phase - back + phases.length) % phases.length;
    const { durationS } = phases[j];
    weights[j] =
      (-Math.expm1(-durationS / timeConstantS) * Math.exp(-sinceEndS / timeConstantS)) / wholePeriod;
    sinceEndS += durationS;
  }
  // The phase under way: its earlier rounds, which ended when all others began, and what has passed of this one.
  const { durationS } = phases[moment.phase];
  weights[moment.phase] =
    (-Math.expm1(-durationS / timeConstantS) * Math.exp(-sinceEndS / timeConstantS)) / wholePeriod -
    Math.expm1(-intoPhaseS / timeConstantS);
  return weights;
}

/** Where the representative draw is hottest at a low, a middle and a high cap, and the places beside. */
function hottestMoments(
  phases: readonly DutyPhase[],
  steady: SteadyDraws,
  { central }: StageShapes,
): readonly Moment[] {
  const moments = phases.flatMap((_, phase) => LOOKED_AT.map((shareFraction) => ({ phase, shareFraction })));
  const weights = moments.map((moment) => weightsAt(phases, central, moment));
  const { referencePowerW } = steady;
  const law = { ...meansOf(steady), referencePowerW };
  const chosen = new Set<number>();
  for (const share of [0.4, 1, 2]) {
    const powersW = phasePowers(phases, share * referencePowerW);
    const rises = weights.map((weight) => riseAtMoment(weight, powersW, law));
    const best = rises.indexOf(Math.max(...rises));
    for (const index of [best - 1, best, best + 1])
      if (moments[index]?.phase === moments[best].phase) chosen.add(index);
  }
  return [...chosen].sort((a, b) => a - b).map((index) => moments[index]);
}
