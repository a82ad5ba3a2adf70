import { describe, expect, it } from 'vitest';
import { figureOfComparison } from '../../../toolkit/figures/figure-of-comparison.js';
import { figureOfPowerCurve } from '../../../toolkit/figures/figure-of-power-curve.js';
import { chancePercent } from '../../../toolkit/report/tables/chance-percent.js';
import { cellText, type Table, tableText } from '../../../toolkit/report/tables/table.js';
import { tableHtml } from '../../../toolkit/report/tables/table-html.js';
import { tableOfChoices, tableOfNeighbours } from '../../../toolkit/report/tables/table-of-choices.js';
import { tableOfComparison, tableOfPairs } from '../../../toolkit/report/tables/table-of-comparison.js';
import { tableOfCooler, tableOfCoolers } from '../../../toolkit/report/tables/table-of-cooler.js';
import { tableOfCurve } from '../../../toolkit/report/tables/table-of-curve.js';
import { tableOfFindings } from '../../../toolkit/report/tables/table-of-findings.js';
import { tableOfOrders } from '../../../toolkit/report/tables/table-of-orders.js';
import { tableOfStages } from '../../../toolkit/report/tables/table-of-stages.js';
import type { CoolerModel } from '../../../toolkit/thermal/cooler-model.js';
import {
  capChoice,
  coolerModel,
  estimated,
  powerCurve,
  theatreComparison,
} from '../figures/puppet-theatre.js';

/** The table as rows of text, as people read it. */
function read(table: Table): readonly (readonly string[])[] {
  return table.rows.map((row) => row.map(cellText));
}

describe('tableOfCooler', () => {
  it('states every quantity with unit and uncertainty', () => {
    const rows = read(tableOfCooler(coolerModel()));
    expect(rows).toContainEqual(['Thermal resistance at 92 W', '0.532 ± 0.012', 'K/W']);
    expect(rows).toContainEqual(['Stage 1: time constant', '6.2 ± 0.4', 's']);
    expect(rows).toContainEqual(['Ladder 2: heat capacity', '470', 'J/K']);
    expect(rows).toContainEqual(['Intake air', '31 (fixed)', '°C']);
    expect(rows).toContainEqual(['Exponent of resistance over power', '0 (assumed)', '']);
    expect(rows).toContainEqual(['Tested power', '14 to 92', 'W']);
  });

  it('says in words what is not identifiable', () => {
    const model = {
      ...coolerModel(),
      thermalResistanceKPerW: { kind: 'unavailable', reason: 'not-identifiable' } as const,
    };
    expect(read(tableOfCooler(model))[0]).toEqual(['Thermal resistance at 92 W', 'not identifiable', 'K/W']);
  });

  it('shows no ladder where a stage it would be made of is not identifiable', () => {
    const model = coolerModel();
    const [first, ...others] = model.stages;
    const resistanceKPerW = { kind: 'unavailable', reason: 'not-identifiable' } as const;
    const names = read(tableOfCooler({ ...model, stages: [{ ...first, resistanceKPerW }, ...others] })).map(
      ([name]) => name,
    );
    expect(names).toContain('Stage 1: resistance');
    expect(names.join()).not.toContain('Ladder');
  });
});

describe('tableOfCoolers', () => {
  it('puts the lowest resistance first', () => {
    const table = tableOfCoolers([
      coolerModel(),
      coolerModel({ cooler: 'Loop 140 mm', resistanceKPerW: 0.31 }),
    ]);
    expect(read(table)).toEqual([
      ['Loop 140 mm', '0.310 ± 0.012', '92', '6.2, 184', '1'],
      ['Flat 58 mm', '0.532 ± 0.012', '92', '6.2, 184', '1'],
    ]);
  });
});

describe('tableOfStages', () => {
  it('names parts only where the time constants justify it, with intervals and shares', () => {
    const table = tableOfStages(coolerModel());
    expect(read(table)).toEqual([
      ['die side to block', '6.2 ± 0.4', '0.171 ± 0.006', '32'],
      ['stage 2', '184 ± 9', '0.361 ± 0.011', '68'],
    ]);
    expect(table.notes?.join(' ')).toContain('only where its time constant justifies one');
  });
});

describe('tableOfOrders', () => {
  it('gives every candidate its residuals and weight, or why it was not chosen', () => {
    const model = coolerModel();
    const lag = { ...model.orders[1], sensorLag: true, chosen: false, weight: 0 };
    const orders = [
      model.orders[0],
      { ...model.orders[1], weight: 0.99998 },
      { ...lag, rejected: 'the sensor lag is outside what the run can show' },
    ];
    expect(read(tableOfOrders({ ...model, orders }))).toEqual([
      ['1', 'no', '4', '1.9', 'below 0.1', 'less weight'],
      ['2', 'no', '6', '0.27', 'above 99.9', 'chosen'],
      ['2', 'yes', '6', '0.27', '–', 'the sensor lag is outside what the run can show'],
    ]);
  });

  it('says in a joint fit how many stages are shared', () => {
    const model = coolerModel();
    const orders = model.orders.map((order) => ({ ...order, sharedStageCount: 1 }));
    const table = tableOfOrders({ ...model, orders });
    expect(table.columns.map(({ name }) => name)).toContain('of these shared');
    expect(read(table)[1].slice(0, 3)).toEqual(['2', '1', 'no']);
  });
});

describe('chancePercent', () => {
  it('keeps two digits of the chance or of what is missing to 100, and never says 0 or 100', () => {
    const fractions = [0, 0.0009, 0.00123, 0.0456, 0.5, 0.894, 0.938, 0.9944, 0.9995, 1];
    expect(fractions.map(chancePercent)).toEqual([
      'below 0.1',
      'below 0.1',
      0.12,
      4.6,
      50,
      89,
      93.8,
      99.4,
      'above 99.9',
      'above 99.9',
    ]);
  });
});

describe('tableOfComparison', () => {
  it('gives places, resistance and rise, the best first, and where the spread between mounts comes from', () => {
    const comparison = theatreComparison();
    const table = tableOfComparison(comparison);
    expect(table.title).toBe('Coolers at 80 W');
    expect(table.columns.map(({ name }) => name)).not.toContain('Fan speed');
    const [best] = read(table);
    expect(best.slice(0, 2)).toEqual(['Loop 140 mm', '1']);
    expect(best[2]).toMatch(/^0\.\d+ ± 0\.\d+$/);
    expect(best.at(-1)).toMatch(/^2\.5 \(allowed\)$/);
    expect(table.notes?.[1]).toBe(
      'Coolers that share a place are not told apart at 95 % confidence, all pairs together.',
    );
  });

  it('has a column for the fan speed where sound was equal, and one for the temperature where air was given', () => {
    const comparison = theatreComparison();
    const table = tableOfComparison({
      ...comparison,
      ambientC: 24,
      soundLevelDb: 32,
      coolers: comparison.coolers.map((cooler) => ({
        ...cooler,
        fanSpeedRpm: 1234.4,
        steadyTemperatureC: estimated(60, 1),
      })),
    });
    expect(table.title).toBe('Coolers at 80 W and 32 dB');
    expect(table.columns.slice(4, 6)).toEqual([
      { name: 'Steady in air of 24 °C', unit: '°C' },
      { name: 'Fan speed', unit: 'rpm' },
    ]);
    expect(read(table)[0].slice(4, 6)).toEqual(['60.0 ± 1.0', '1234']);
  });
});

describe('tableOfPairs', () => {
  it('says how many more mounts would tell only where two are not told apart', () => {
    const table = tableOfPairs(theatreComparison());
    for (const [, verdict, , , , more] of table.rows) {
      if (verdict === 'not told apart from') expect(more).not.toBeNull();
      else expect(more).toBeNull();
    }
    expect(table.rows.some(([, verdict]) => verdict === 'not told apart from')).toBe(true);
    expect(table.rows.some(([, verdict]) => verdict === 'better than' || verdict === 'worse than')).toBe(
      true,
    );
  });
});

describe('what a table says of mounts', () => {
  const severalMounts = { code: 'several-mounts', severity: 'note', message: 'two mounts' } as const;
  const remounted = { ...coolerModel(), findings: [severalMounts] };
  const noteOf = (...models: readonly CoolerModel[]): string => tableOfCoolers(models).notes?.join(' ') ?? '';

  it('is that their spread is not in the interval, that it is, or for which cooler it is', () => {
    expect(noteOf(coolerModel())).toMatch(/varies from mount to mount is not in it\.$/);
    expect(noteOf(remounted, remounted)).toMatch(/spread between the mounts of each cooler is in it\.$/);
    expect(noteOf(remounted, coolerModel({ cooler: 'Loop 140 mm' }))).toMatch(
      /is in it for Flat 58 mm only: the others were logged in one mount each\.$/,
    );
    expect(tableOfCooler(remounted).notes?.join(' ')).toMatch(/spread between its mounts is in it\.$/);
    expect(figureOfComparison([remounted]).layout.title.text).toMatch(/spread between its mounts is in it\./);
  });
});

describe('tableOfCurve', () => {
  it('states what a watt and a kelvin change', () => {
    expect(read(tableOfCurve(powerCurve())).slice(0, 2)).toEqual([
      ['Frequency per watt', '12.4 ± 0.8', 'MHz/W'],
      ['Frequency per kelvin', '−3.1 ± 0.9', 'MHz/K'],
    ]);
    const withWork = { ...powerCurve(), throughputPerMHz: estimated(0.00163, 0.00002) };
    expect(read(tableOfCurve(withWork))).toContainEqual([
      'Work per second and gigahertz',
      '1.630 ± 0.020',
      '1/(s GHz)',
    ]);
  });

  it('is named after the processor, else after a label of its own, never by a list of runs', () => {
    const { processor: _, ...curve } = powerCurve();
    const runLabels = ['a', 'b', 'c'];
    const titleOf = (label: string): string | undefined => tableOfCurve({ ...curve, label, runLabels }).title;
    expect(tableOfCurve({ ...curve, processor: 'stage processor', label: 'x' }).title).toBe(
      'stage processor',
    );
    expect(titleOf('spring')).toBe('spring');
    expect(titleOf('a, b, c')).toBe('Power curve from 3 runs');
    // The workload follows.
    expect(JSON.stringify(figureOfPowerCurve({ ...curve, label: 'a, b, c', runLabels }).layout)).toContain(
      '>From 3 runs, ',
    );
  });
});

describe('tableOfChoices', () => {
  it('compares caps, the highest first, with the loss in per cent', () => {
    const table = tableOfChoices([capChoice(), capChoice({ cooler: 'Tower 88 mm', resistanceKPerW: 0.36 })]);
    expect(table.columns.map((column) => column.name)).toContain('Loss against 118 W');
    expect(read(table)[1]).toEqual([
      'Flat 58 mm',
      '89',
      'temperature',
      '80 ± 6',
      '3522 ± 18',
      '2.20 ± 0.25',
      '4.5',
    ]);
    expect(table.rows.map((row) => row[0])).toEqual(['Tower 88 mm', 'Flat 58 mm']);
  });

  it('leaves out frequency and loss where no power curve tells them, and says so', () => {
    const missing = { kind: 'unavailable', reason: 'not-identifiable' } as const;
    const { cost, ...choice } = capChoice();
    const unknown = { ...cost!, frequencyMHz: missing, frequencyLossMHz: missing, lossFraction: missing };
    const table = tableOfChoices([{ ...choice, frequencyMHz: missing, cost: unknown }]);
    expect(table.columns.map((column) => column.name)).toEqual([
      'Cooler',
      'Power cap',
      'What binds',
      'Steady temperature',
      'Chance of exceeding the limit',
    ]);
    expect(table.notes?.join(' ')).toMatch(/do not tell the frequency at these caps, nor what they cost/);
    expect(tableOfChoices([capChoice()]).notes?.join(' ')).not.toMatch(/do not tell/);
  });

  it('names the caps that are provisional', () => {
    const provisional = { ...capChoice(), summary: 'Provisional, because the data carry a serious finding.' };
    expect(tableOfChoices([provisional]).notes).toContain('Provisional: Flat 58 mm; see the cautions.');
    expect(tableOfChoices([capChoice()]).notes?.join(' ')).not.toContain('Provisional');
  });

  it('shows the limits where they differ', () => {
    const other = capChoice();
    const table = tableOfChoices([capChoice(), { ...other, scenario: { ...other.scenario, limitC: 80 } }]);
    expect(table.columns.map((column) => column.name)).toContain('Limit');
  });
});

describe('tableOfNeighbours', () => {
  it('never calls a chance zero', () => {
    const choice = { ...capChoice(), neighbours: [{ powerCapW: 80, chanceOfPassingLimit: 0 }] };
    expect(read(tableOfNeighbours(choice))).toEqual([['80', 'below 0.1', '']]);
  });

  it('marks the chosen cap', () => {
    expect(read(tableOfNeighbours(capChoice()))).toContainEqual(['89', '4.5', 'chosen']);
  });
});

describe('tableOfFindings', () => {
  it('puts the serious ones first', () => {
    const table = tableOfFindings([
      { code: 'a', severity: 'note', message: 'first' },
      { code: 'b', severity: 'serious', message: 'second', remedy: 'log again' },
    ]);
    expect(table.rows).toEqual([
      ['serious', 'second', 'Log again.'],
      ['note', 'first', ''],
    ]);
  });
});

describe('tableText', () => {
  it('lines up columns, numbers flush right, one row per line', () => {
    const table: Table = {
      kind: 'table',
      title: 'Two coolers',
      columns: [{ name: 'Cooler' }, { name: 'Cap', unit: 'W' }],
      rows: [
        ['Flat\n41 mm', estimated(74, 3)],
        ['Tower 88 mm', 118],
        ['none', null],
      ],
      notes: ['A note.'],
    };
    expect(tableText(table)).toBe(
      [
        'Two coolers',
        '',
        'Cooler       Cap, W',
        '-----------  ------',
        'Flat 41 mm   74 ± 3',
        'Tower 88 mm     118',
        'none              –',
        '',
        'A note.',
      ].join('\n'),
    );
  });
});

describe('a number in a table', () => {
  const about = (value: number, extrapolated: boolean) =>
    ({
      kind: 'estimated',
      value,
      standardError: 1,
      interval95: [value - 2, value + 2],
      extrapolated,
    }) as const;

  it('has a star where it is extrapolated, which the note below explains', () => {
    const table = {
      kind: 'table',
      columns: [{ name: 'T' }],
      rows: [[about(80, true)]],
      notes: ['n'],
    } as const;
    expect(tableText(table)).toContain('80.0 ± 2.0*');
    expect(tableText(table)).toMatch(/\nn\n\*: extrapolated, outside the range that was logged\.$/);
    expect(tableHtml(table)).toContain('<p class="note">*: extrapolated');
    const inside = { ...table, rows: [[about(80, false)]] };
    expect(tableText(inside)).not.toContain('*');
    expect(tableHtml(inside)).not.toContain('extrapolated');
  });

  it('has a dagger where too few samples carry an interval', () => {
    const unsure = { kind: 'unavailable', reason: 'too-few-points', value: 62.83 } as const;
    const table = { kind: 'table', columns: [{ name: 'T' }], rows: [[unsure], [about(80, true)]] } as const;
    expect(read(table)).toEqual([['62.8†'], ['80.0 ± 2.0*']]);
    expect(tableText(table)).toMatch(
      /\*: extrapolated[^\n]*\n†: too few independent samples for an interval; log longer\.$/,
    );
    // Without a number there is nothing to mark.
    const nothing = { kind: 'unavailable', reason: 'too-few-points' } as const;
    expect(read({ ...table, rows: [[nothing]] })).toEqual([['too few independent points']]);
  });

  it('stands beside words that are set like words', () => {
    const rows = [[1], ['none'], ['too early. The run so far allows anything']];
    expect(tableHtml({ kind: 'table', columns: [{ name: 'n' }], rows })).toMatch(
      /<td class="number">none<\/td>[\s\S]*<td>too early\. /,
    );
  });

  it('of five whole digits and more is grouped in thousands', () => {
    const rows = [[600_000], [-12_345], [9999], [12_345.6], [1234.5], [0.123456]];
    const table = { kind: 'table', columns: [{ name: 'n' }], rows } as const;
    expect(read(table).map(([text]) => text)).toEqual([
      '600,000',
      '−12,345',
      '9999',
      '12,346',
      '1235',
      '0.123',
    ]);
  });
});

describe('tableHtml', () => {
  it('puts the unit below the name, keeps numbers and units together, and sets wide tables smaller', () => {
    const html = tableHtml({
      kind: 'table',
      columns: [{ name: 'Cap', unit: '<W>' }],
      rows: [['18 to 22 °C']],
    });
    expect(html).toContain('Cap<br><small>&lt;W&gt;</small></th>');
    expect(html).toContain('<td>18 to 22\u00a0°C</td>');
    expect(html).toMatch(/^<div class="table">/);
    const columns = Array.from({ length: 8 }, (_, i) => ({ name: `c${i}` }));
    expect(tableHtml({ kind: 'table', columns, rows: [] })).toMatch(/^<div class="table wide">/);
  });

  it('marks numeric columns and escapes every cell', () => {
    const html = tableHtml({ kind: 'table', columns: [{ name: 'a<b' }, { name: 'n' }], rows: [['<i>', 3]] });
    expect(html).toContain('<th scope="col">a&lt;b</th>');
    expect(html).toContain('<td>&lt;i&gt;</td><td class="number">3</td>');
  });
});
