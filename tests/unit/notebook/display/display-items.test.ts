import { describe, expect, it } from 'vitest';
import { displayItems } from '../../../../toolkit/notebook/display/display-items.js';
import { nameInWords, quantitiesTable } from '../../../../toolkit/notebook/display/display-quantities.js';
import type { Estimate } from '../../../../toolkit/numerics/estimate.js';
import { tableText } from '../../../../toolkit/report/tables/table.js';
import { countCycles } from '../../../../toolkit/wear/count-cycles.js';
import { theatreComparison } from '../../figures/puppet-theatre.js';

const estimate: Estimate = {
  kind: 'estimated',
  value: 81.234,
  standardError: 0.6,
  interval95: [80.0, 82.47],
};
const kindsOf = (value: unknown): readonly string[] | undefined =>
  displayItems(value)?.map((item) => item.kind);

describe('display items', () => {
  it('of a comparison of coolers: sentence, picture, both tables', () => {
    expect(kindsOf(theatreComparison())?.slice(0, 4)).toEqual(['markdown', 'figure', 'table', 'table']);
  });

  it('of a count of cycles: sentence, picture, table', () => {
    const timeS = Array.from({ length: 60 }, (_, i) => i);
    const temperatureC = timeS.map((t) => 50 + (t % 20 < 10 ? 20 : 0));
    const counted = countCycles({ label: 'matinee', timeS, temperatureC });
    expect(kindsOf(counted)?.slice(0, 3)).toEqual(['markdown', 'figure', 'table']);
    expect(kindsOf([counted, counted])).toEqual(['figure', 'table', 'table']);
  });

  it('of an uncertain number: digits that its interval allows', () => {
    expect(displayItems(estimate)).toEqual([{ kind: 'markdown', text: '**81.2 ± 1.2**' }]);
  });

  it('of a result without a way of its own: its sentence, its numbers with units, findings, cautions', () => {
    const result = {
      kind: 'something-new',
      summary: 'Settles at 81 °C. Wait.',
      steadyTemperatureC: estimate,
      moreTimeS: 300,
      findings: [{ code: 'gap', severity: 'note', message: '3 s are missing.' }],
      cautions: ['Stay within the limits.'],
    };
    const items = displayItems(result) ?? [];
    expect(items.map((item) => item.kind)).toEqual(['markdown', 'table', 'findings', 'findings']);
    const [, table] = items;
    expect(table?.kind === 'table' && table.table.rows).toEqual([
      ['Steady temperature', estimate, '°C'],
      ['More time', 300, 's'],
    ]);
    expect(table?.kind === 'table' && tableText(table.table)).toMatch(/Steady temperature +81\.2 ± 1\.2 +°C/);
  });

  it('of other values: none', () => {
    for (const value of [1, 'x', null, undefined, {}, [], { kind: 'x' }, { kind: 3 }, [1, 2], () => 1])
      expect(displayItems(value)).toBeUndefined();
  });
});

describe('names in words', () => {
  it.each([
    ['steadyTemperatureC', 'Steady temperature', '°C'],
    ['thermalResistanceKPerW', 'Thermal resistance', 'K/W'],
    ['fanSpeedRpm', 'Fan speed', 'rpm'],
    ['cycleCount', 'Cycle count', ''],
    ['verdict', 'Verdict', ''],
  ])('%s is "%s" in "%s"', (name, words, unit) => {
    expect(nameInWords(name)).toEqual({ words, unit });
  });

  it('leave out what is no single quantity', () => {
    expect(
      quantitiesTable({ kind: 'x', curve: [1, 2], nested: { a: 1 }, long: 'x'.repeat(80) }),
    ).toBeUndefined();
  });
});
