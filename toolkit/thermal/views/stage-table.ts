import type { Estimate } from '../../numerics/estimate.js';
import { unavailable } from '../../numerics/estimates.js';
import type { CoolerModel } from '../cooler-model.js';
import { requireStages } from '../require-stages.js';

/** What a time constant alone says of the part that decides it. */
export interface StageRange {
  readonly name: string;
  readonly lowS: number;
  readonly highS: number;
}

/**
 * Time constants from which the part that decides a stage can be told, for air and liquid coolers of desktop and compact
 * computers.
 *
 * Each is a heat capacity times the resistance it drains through. Capacities from the volume of copper (3.4 MJ/(m³K)),
 * aluminium (2.4) and water (4.2) [Bergman2011, app. A], resistances from contacts of 0.03 to 0.13 K/W and convection of
 * 0.1 to 0.5 K/W: a die 1 to 3 J/K, its spreader 8 to 22 J/K, a block (base with heat pipes, cold plate) 60 to 300 J/K,
 * fins with all before them 250 to 850 J/K, the liquid of a loop 1 to 3 kJ/K. Between 25 and 50 s nothing is named, and
 * between 180 and 400 s heavy fins and a small loop look alike. Ranges are of our own, not of a standard.
 *
 * @example
 * STAGE_RANGES.map((range) => range.name);
 * // => ['die side', 'spreader and contact', 'block', 'fins', 'fins or liquid', 'liquid']
 */
export const STAGE_RANGES: readonly StageRange[] = [
  { name: 'die side', lowS: 0, highS: 0.4 },
  { name: 'spreader and contact', lowS: 0.4, highS: 3 },
  { name: 'block', lowS: 3, highS: 25 },
  { name: 'fins', lowS: 50, highS: 180 },
  { name: 'fins or liquid', lowS: 180, highS: 400 },
  { name: 'liquid', lowS: 400, highS: 1500 },
];

/** One stage of a model in words. */
export interface StageRow {
  /** The part that decides the time constant where it can be told, else `stage 2`. */
  readonly name: string;
  readonly timeConstantS: Estimate;
  readonly resistanceKPerW: Estimate;
  /** Share of the total resistance. */
  readonly resistanceFraction: number;
}

/**
 * The stages of a model in words, with time constants, resistances and shares.
 *
 * A stage is named after a part only where the 95 % interval of its time constant lies in one of `STAGE_RANGES`, is shorter
 * than the longest run, and no other stage lies in the same range; otherwise it is `stage 2`. The fastest stage of a fit
 * stands for everything inward of it too, for what is faster was not seen: `die side to block`. A stage is one term of the
 * step response, not one part: its resistance is what the rise gains while that part warms.
 *
 * @param model - a model with stages, from `fitCooler`
 * @returns one row a stage, fastest first
 * @throws ArgumentError if the model has no stages
 * @example
 * const timeS = Array.from({ length: 600 }, (_, i) => i);
 * const run = makeRun(
 *   { timeS, powerW: timeS.map((t) => (t === 0 ? 0 : 80)), temperatureC: timeS.map((t) => 22 + 40 * (1 - Math.exp(-t / 60))) },
 *   { label: 'step', conditions: { ambientC: 22 } },
 * );
 * stageTable(fitCooler(run, { stageCount: 1, powerExponent: 0 })).map((row) => row.name); // => ['die side to fins']
 */
export function stageTable(model: CoolerModel): StageRow[] {
  const { timeConstantsS, resistancesKPerW } = requireStages(model, 'stageTable');
  const total = resistancesKPerW.reduce((sum, resistance) => sum + resistance, 0);
  const unknown = unavailable('not-identifiable');
  const stages = timeConstantsS.map(
    (_, k) => model.stages[k] ?? { timeConstantS: unknown, resistanceKPerW: unknown },
  );
  const parts = stages.map((stage) => partOf(stage.timeConstantS, model.testedRange.durationS));
  return stages.map(({ timeConstantS, resistanceKPerW }, k) => {
    const part = parts.filter((other) => other === parts[k]).length === 1 ? parts[k] : undefined;
    return {
      name: part === undefined ? `stage ${k + 1}` : k === 0 ? inwardOf(part) : part.name,
      timeConstantS,
      resistanceKPerW,
      resistanceFraction: resistancesKPerW[k] / total,
    };
  });
}

/** The range that holds the whole interval, if the run was long enough to see it. */
function partOf(timeConstant: Estimate, longestRunS: number): StageRange | undefined {
  if (timeConstant.kind !== 'estimated') return undefined;
  const [low, high] = timeConstant.interval95;
  if (high > longestRunS) return undefined;
  return STAGE_RANGES.find(({ lowS, highS }) => low >= lowS && high <= highS);
}

/** The fastest stage holds what is inward of its part as well. */
function inwardOf(part: StageRange): string {
  return part === STAGE_RANGES[0] ? part.name : `${STAGE_RANGES[0].name} to ${part.name}`;
}
