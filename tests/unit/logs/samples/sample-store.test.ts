import { expect, it } from 'vitest';
import { TimeCells } from '../../../../toolkit/logs/cells/time-cells.js';
import { SampleStore } from '../../../../toolkit/logs/samples/sample-store.js';
import type { RoleColumn } from '../../../../toolkit/logs/table/column-rules.js';
import { unitFromText } from '../../../../toolkit/units/units.js';

const column = (role: RoleColumn['role'], index: number, symbol: string): RoleColumn => ({
  role,
  index,
  header: role,
  unit: unitFromText(symbol)!,
  isUnitAssumed: false,
});

it('a copy of stored samples has the stretch that is not over yet, also where the room is exactly full', () => {
  const time = new TimeCells('.', undefined);
  time.read('0', { line: 2, column: 1 });
  const columns = [column('time', 0, 's'), column('temperature', 1, '°C'), column('power', 2, 'W')];
  const store = new SampleStore(columns, { expectedRows: 0, blockS: 1, powerSample: 'interval-mean' }, time);
  for (let i = 0; i < 2100; i++) {
    const at = store.openRow();
    for (const [k, value] of [i / 2, 40 + i, 90 + (i % 2)].entries()) store.columns[k][at] = value;
    store.keep(1, i + 2);
    // There is room for 1024 samples first.
    if (i < 2000) continue;
    // Two rows make a sample: the last of them stands at the row that was just kept.
    const copy = store.clone();
    copy.settle();
    expect(copy.count).toBe(Math.floor(i / 2) + 1);
    expect(copy.columns.map((values) => values.length)).toEqual([copy.count, copy.count, copy.count]);
    expect(copy.columns[1].at(-1)).toBe(40 + i);
    expect(copy.lineNumbers.at(-1)).toBe(i + 2);
  }
  expect(store.count).toBe(1049);
});
