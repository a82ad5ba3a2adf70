import { ArgumentError, type KnownNames, requireKnownNames, requireNumber } from '../../errors.js';
import type { LadderRung } from '../../thermal/cooler-model.js';
import type { Panel } from './panel.js';

/** What drives the ladder of `exploreLadder` at first. */
export interface ExploreLadderOptions {
  /** Power that is switched on at 0 s, W. Default 95. */
  readonly powerW?: number;
  /** Air, degrees Celsius. Default 23. */
  readonly ambientC?: number;
  /** Length of the picture, s. Default 900. */
  readonly durationS?: number;
}

const OPTION_NAMES: KnownNames<ExploreLadderOptions> = { powerW: true, ambientC: true, durationS: true };
const mostStages = 4;

/**
 * A panel with sliders for the heat capacities and resistances of a ladder: what does the die do after the power is
 * switched on? For learning; a fitted cooler is explored with `explore`.
 *
 * The model runs in the page: no kernel is asked, exported pages stay alive.
 *
 * @param ladder - one to four rungs from the die outward; the last resistance ends in the air
 * @param options - power, air and length of the picture; see `ExploreLadderOptions`
 * @throws ArgumentError if a rung or an option is not a positive number, or there are more than four rungs
 * @example
 * exploreLadder([{ heatCapacityJPerK: 330, resistanceKPerW: 0.45 }]).kind; // => 'panel'
 */
export function exploreLadder(ladder: readonly LadderRung[], options: ExploreLadderOptions = {}): Panel {
  const caller = 'exploreLadder';
  if (!Array.isArray(ladder) || ladder.length === 0 || ladder.length > mostStages)
    throw new ArgumentError({
      caller,
      argument: 'ladder',
      expected: `an array of 1 to ${mostStages} rungs`,
      received: Array.isArray(ladder) ? ladder.length : ladder,
    });
  ladder.forEach((rung: LadderRung, i) => {
    for (const name of ['heatCapacityJPerK', 'resistanceKPerW'] as const)
      requireNumber(rung[name], { caller, argument: `ladder[${i}].${name}` }, { above: 0 });
  });
  requireKnownNames(options, OPTION_NAMES, { caller, argument: 'options' });
  const { powerW = 95, ambientC = 23, durationS = 900 } = options;
  requireNumber(powerW, { caller, argument: 'options.powerW' }, { above: 0 });
  requireNumber(ambientC, { caller, argument: 'options.ambientC' }, { above: -273.15 });
  requireNumber(durationS, { caller, argument: 'options.durationS' }, { above: 0 });
  return { kind: 'panel', data: { panel: 'ladder', ladder, powerW, ambientC, durationS } };
}
