import { ArgumentError, type KnownNames, requireKnownNames, requireNumber } from '../../errors.js';
import { requireRuns } from '../../runs/require-run.js';
import type { Run } from '../../runs/run.js';
import { FIT_COOLER_NAMES, type FitCoolerOptions, settleFitOptions } from '../fit/fit-cooler.js';
import { isAirKnown, unknownAirError } from '../fit/fit-record.js';
import { requireDifferentRuns, requireFiniteSamples, requireOneSubject } from '../fit/require-fit-runs.js';
import type { CoolerRuns } from './cooler-parts.js';
import type { JointFit } from './joint-fit.js';
import { jointFitOf } from './joint-fit-of.js';

/** Options of `fitCoolers`. */
export interface FitCoolersOptions extends Omit<FitCoolerOptions, 'label' | 'stageCount'> {
  /** How many rungs of the ladder, from the die, all coolers have in common. Default: chosen by the data, 0 among the choices. */
  readonly sharedStageCount?: number;
  /** Instead of a number: as many as all coolers have stages faster than this, s. */
  readonly sharedBelowS?: number;
}

const { label: _label, stageCount: _stageCount, ...INHERITED_NAMES } = FIT_COOLER_NAMES;

const OPTION_NAMES: KnownNames<FitCoolersOptions> = {
  ...INHERITED_NAMES,
  sharedStageCount: true,
  sharedBelowS: true,
};

/** What the conditions call a place without an enclosure; so does a run that names none. */
const OPEN_BENCH = 'open bench';

/**
 * Fits several coolers on one processor together, and enclosures they were run in.
 *
 * **Shared die side.** The part nearest the die belongs to the processor: with m shared, the first m heat capacities and
 * resistances of the ladder are the same for all coolers, as is the sensor's lag; further rungs, starts, mounts and noise
 * are each cooler's own. It is stated in the ladder because only there it is exact: a cooler's own heat capacity moves all
 * time constants and resistances of the pole form, the die's too, by about the ratio of the heat capacities. Whether the
 * coolers do have it in common the data decide (paste and pressure differ): candidates with m = 0, 1, 2 … are weighed by
 * one corrected Akaike criterion on one effective sample size [BurnhamAnderson2002]. With m = 0 the best, the models are
 * those of separate fits, and a finding says so.
 *
 * **Enclosures.** Runs of a cooler in an enclosure, with the **room** as their air, beside runs of it on the open bench
 * are fitted with its whole ladder and one more rung behind it, whose heat capacity and resistance are the enclosure's own,
 * shared by all coolers in it; other heat in the enclosure counts as if it came with the package power. Runs whose `conditions.enclosure` is `open bench` or missing are on the bench;
 * runs that are all in one enclosure are fitted as they are.
 *
 * Each model is what `fitCooler` would state, with `correlations` to the others of the fit.
 *
 * @param runs - with `conditions.cooler`; on one processor
 * @param options - see `FitCoolersOptions`
 * @throws ArgumentError if runs have no cooler's name while others have, are of several processors, are in an enclosure
 * without bench runs of the same cooler, or what `fitCooler` refuses
 * @throws NumericalError if no model describes the runs of a cooler
 * @example
 * // Two coolers whose fins differ on one die of 40 J/K, 0.1 K/W from both.
 * const timeS = Array.from({ length: 900 }, (_, i) => i);
 * const powerW = timeS.map((t) => (t === 0 ? 0 : 80));
 * const run = (cooler: string, heatCapacityJPerK: number, resistanceKPerW: number) => {
 *   const ladder = [{ heatCapacityJPerK: 40, resistanceKPerW: 0.1 }, { heatCapacityJPerK, resistanceKPerW }];
 *   const [temperatureC] = simulateLadder(ladder, { timeS, powerW, ambientC: 22 });
 *   return makeRun({ timeS, powerW, temperatureC }, { label: cooler, conditions: { ambientC: 22, cooler } });
 * };
 * const { models, shared } = fitCoolers(
 *   [run('flat 58 mm', 300, 0.4), run('tower 88 mm', 800, 0.2)], { powerExponent: 0, sharedStageCount: 1 },
 * );
 * models.map(({ label }) => label); // => ['flat 58 mm', 'tower 88 mm']
 * requireValue(shared.rungs[0].heatCapacityJPerK); // => 40 within 1e-3
 * requireValue(shared.rungs[0].resistanceKPerW); // => 0.1 within 1e-5
 */
export function fitCoolers(runs: readonly Run[], options: FitCoolersOptions = {}): JointFit {
  const caller = 'fitCoolers';
  const list = requireRuns(runs, caller);
  requireKnownNames(options, OPTION_NAMES, { caller, argument: 'options' });
  const { sharedStageCount, sharedBelowS, ...ofEach } = options;
  const settings = settleFitOptions(ofEach, caller);
  if (sharedBelowS !== undefined)
    requireNumber(sharedBelowS, { caller, argument: 'options.sharedBelowS' }, { above: 0 });
  if (sharedStageCount !== undefined && ![0, 1, 2, 3].includes(sharedStageCount)) {
    throw new ArgumentError({
      caller,
      argument: 'options.sharedStageCount',
      expected: '0, 1, 2 or 3',
      received: sharedStageCount,
      remedy: 'leave it out to let the data choose',
    });
  }
  requireFiniteSamples(list, caller);
  requireDifferentRuns(list, caller);
  const coolers = coolersOf(list, caller);
  for (const { bench } of coolers) requireOneSubject(bench, caller);
  requireOneSubject(list, caller, ['processor']);
  return jointFitOf(coolers, settings, { sharedStageCount, sharedBelowS }, caller);
}

/** The runs by cooler and place. */
function coolersOf(runs: readonly Run[], caller: string): CoolerRuns[] {
  const unnamed = runs.find((run) => run.conditions.cooler === undefined);
  const names = [...new Set(runs.map((run) => run.conditions.cooler))];
  if (unnamed !== undefined && names.length > 1) {
    throw new ArgumentError({
      caller,
      argument: 'runs',
      expected: 'runs that all name their cooler, or none',
      received: `run "${unnamed.label}" without conditions.cooler`,
      remedy: 'give each run its conditions: { cooler: … }',
    });
  }
  const places = new Set(runs.map(placeOf));
  return names.map((name) => {
    const own = runs.filter((run) => run.conditions.cooler === name);
    const cooler = name ?? own[0].label;
    if (places.size === 1) return { cooler, bench: own, inEnclosures: [] };
    const bench = own.filter((run) => placeOf(run) === OPEN_BENCH);
    const enclosures = [...new Set(own.map(placeOf))].filter((place) => place !== OPEN_BENCH);
    if (bench.length === 0) {
      throw new ArgumentError({
        caller,
        argument: 'runs',
        expected: `runs of "${cooler}" on the open bench beside those in "${enclosures[0]}"`,
        received: 'none',
        remedy: 'what the enclosure adds is told from the cooler itself by a run of it on the bench',
      });
    }
    return {
      cooler,
      bench,
      inEnclosures: enclosures.map((enclosure) => {
        const inside = own.filter((run) => placeOf(run) === enclosure);
        const unknown = inside.find((run) => !isAirKnown(run));
        if (unknown !== undefined)
          throw unknownAirError(unknown, caller, 'the air of the room around the enclosure unknown');
        return { enclosure, runs: inside };
      }),
    };
  });
}

function placeOf({ conditions }: Run): string {
  return conditions.enclosure ?? OPEN_BENCH;
}
