import { describe, expect, it } from 'vitest';
import { capFrontier } from '../../../../toolkit/cap/frontier/cap-frontier.js';
import { planNextRuns } from '../../../../toolkit/cap/plan/plan-next-runs.js';
import { shortlistCoolers } from '../../../../toolkit/cap/shortlist/shortlist-coolers.js';
import { displayItems } from '../../../../toolkit/notebook/display/display-items.js';
import { type Table, tableText } from '../../../../toolkit/report/tables/table.js';
import { tableOfFrontier } from '../../../../toolkit/report/tables/table-of-frontier.js';
import { tableOfPlan } from '../../../../toolkit/report/tables/table-of-plan.js';
import { tableOfShortlist } from '../../../../toolkit/report/tables/table-of-shortlist.js';
import { coolerFromSteadyPoints } from '../../../../toolkit/thermal/cooler-from-steady-points.js';
import { plainCooler } from '../../cap/plain-cooler.js';
import { workedCurve } from '../../cap/worked-curve.js';

const cooler = plainCooler({ resistanceStandardErrorKPerW: 0.01 }, { cooler: 'flat 58 mm' });
const scenario = { limitC: 80, ambientC: { low: 20, high: 26 }, maxCapW: 120 };
const frontier = capFrontier(cooler, workedCurve(), scenario);
const coolers = [cooler, plainCooler({ thermalResistanceKPerW: 0.75 }, { cooler: 'flat 41 mm' })];
const list = shortlistCoolers(coolers, workedCurve(), { ...scenario, minCapW: 80 });
const shortlisted = (over: Partial<typeof scenario>): Table =>
  tableOfShortlist(shortlistCoolers(coolers, workedCurve(), { ...scenario, ...over }));
const oneRun = coolerFromSteadyPoints([{ powerW: 60, temperatureC: 52, ambientC: 23 }], {
  label: 'tower 88 mm',
});
const plan = planNextRuns(oneRun, undefined, scenario);

const column = ({ columns, rows }: Table, name: string): readonly unknown[] =>
  rows.map((row) => row[columns.findIndex((one) => one.name === name)]);

describe('tables of what a cap comes to', () => {
  it('hold every marked cap, and few enough rows to read', () => {
    const table = tableOfFrontier(frontier);
    expect(table.rows.length).toBeLessThan(30);
    const remarks = column(table, 'Remark').join('; ');
    expect(remarks).toContain('highest allowed');
    expect(remarks).toContain('most work per Wh');
    expect(remarks).toContain('not allowed: temperature');
    expect(table.columns.map(({ unit }) => unit)).toEqual(['W', '°C', '%', 'MHz', '1/s', '1/Wh', undefined]);
    expect(tableText(table)).not.toMatch(/NaN|undefined/);
  });

  it('list coolers with their cap or their shortfall', () => {
    const table = tableOfShortlist(list);
    expect(column(table, 'Cooler')).toEqual(['flat 58 mm', 'flat 41 mm']);
    expect(column(table, 'Power cap')[1]).toBe('none');
    expect(column(shortlisted({ maxCapW: 80 }), 'Remark')[0]).toBe('highest cap allowed');
    expect(column(shortlisted({}), 'Remark')[0]).toBe('');
    expect(column(table, 'Remark')[1]).toMatch(/^\d+\.\d K too warm at 80 W, \d+\.\d W short$/);
    expect(tableText(table)).not.toMatch(/NaN|undefined/);
  });

  it('list the runs to log, and mark the one recommended', () => {
    const table = tableOfPlan(plan);
    expect(column(table, 'Recommended')[0]).toBe('log this one');
    expect(
      column(table, 'Recommended')
        .slice(1)
        .every((cell) => cell === ''),
    ).toBe(true);
    const [now, after] = ['Half-width now', 'Half-width after'].map(
      (name) => column(table, name)[0] as number,
    );
    expect(after).toBeLessThan(now);
    expect(tableText(table)).not.toMatch(/NaN|undefined/);
  });

  it('show in a notebook: the sentence first, then picture, table and cautions', () => {
    const kinds = (value: unknown) => displayItems(value)?.map(({ kind }) => kind);
    expect(kinds(frontier)).toEqual(['markdown', 'figure', 'table', 'findings']);
    expect(kinds(list)).toEqual(['markdown', 'figure', 'table', 'findings']);
    expect(kinds(plan)).toEqual(['markdown', 'table', 'findings']);
  });
});
