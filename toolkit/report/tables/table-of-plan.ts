import type { PlannedRun, RunPlan } from '../../cap/plan/run-plan.js';
import type { Table, TableCell } from './table.js';

/** More candidates than this nobody compares. */
const MOST_ROWS = 12;

/**
 * Runs that could be logged next, the best first, with the half-width of the cap's interval now and as expected after each.
 *
 * @param plan - what `planNextRuns` returned
 * @returns a table of at most twelve candidates
 * @example
 * const oneRun = coolerFromSteadyPoints([{ powerW: 60, temperatureC: 52, ambientC: 23 }], { label: 'tower 88 mm' });
 * const plan = planNextRuns(oneRun, undefined, { limitC: 85, ambientC: 26, defaultCapW: 118 });
 * tableOfPlan(plan).rows[0][0]; // => 'tower 88 mm'
 */
export function tableOfPlan(plan: RunPlan): Table {
  const shown = plan.candidates.slice(0, MOST_ROWS);
  const withMounts = plan.candidates.some(({ remounted }) => remounted);
  const [next] = plan.sequence;
  return {
    kind: 'table',
    title: 'Runs to log next',
    columns: [
      { name: 'Cooler' },
      { name: 'Power cap', unit: 'W' },
      { name: 'Duration', unit: 'min' },
      ...(withMounts ? [{ name: 'Mounted again' }] : []),
      { name: 'Expected temperature', unit: '°C' },
      { name: 'Half-width now', unit: 'W' },
      { name: 'Half-width after', unit: 'W' },
      { name: 'Recommended' },
    ],
    rows: shown.map((run): readonly TableCell[] => [
      run.cooler,
      run.powerCapW,
      run.durationS / 60,
      ...(withMounts ? [run.remounted] : []),
      Math.round(run.expectedTemperatureC),
      Number(run.halfWidthNowW.toFixed(1)),
      Number(run.halfWidthAfterW.toFixed(1)),
      next !== undefined && isSame(run, next) ? 'log this one' : '',
    ]),
    notes: [
      'Half-width: of the 95 % interval of the power at the limit, from the cooler alone; room and enclosure come on top.',
      ...(shown.length < plan.candidates.length
        ? [`The first ${shown.length} of ${plan.candidates.length} candidates.`]
        : []),
    ],
  };
}

function isSame(a: PlannedRun, b: PlannedRun): boolean {
  return (
    a.cooler === b.cooler &&
    a.powerCapW === b.powerCapW &&
    a.durationS === b.durationS &&
    a.remounted === b.remounted
  );
}
