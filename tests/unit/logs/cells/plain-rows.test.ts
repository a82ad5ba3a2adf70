import { describe, expect, it } from 'vitest';
import { PlainRows } from '../../../../toolkit/logs/cells/plain-rows.js';

/** What is read of a text whose second of three cells is not wanted. */
function read(text: string, delimiter = ',', decimal = '.') {
  const rows = new PlainRows(
    [
      { index: 0, floor: -300 },
      { index: 2, floor: 0 },
    ],
    { width: 3, delimiterByte: delimiter.charCodeAt(0), decimalByte: decimal.charCodeAt(0) },
  );
  const bytes = new TextEncoder().encode(text);
  const next = rows.read(bytes, 0, bytes.length);
  const numbers = [...rows.values.subarray(0, rows.count * rows.cellCount)];
  return { numbers, left: text.slice(next), shortestLastCell: rows.shortestLastCell };
}

// That odd rows between come out as by all rules is asked in tests/property/plain-rows.test.ts.
describe('PlainRows', () => {
  it('reads the wanted numbers of every row, whatever stands in the other cells', () => {
    expect(read('-7.25,a b,4\n8,,0.5\r\n"9","x, y",1e3\n')).toEqual({
      numbers: [-7.25, 4, 8, 0.5, 9, 1000],
      left: '',
      shortestLastCell: 1,
    });
  });

  it('stops where a row takes more than that, and leaves it to the others', () => {
    for (const odd of [
      '2,x',
      '2,x,3,4',
      '2,x,',
      '2,x,-1',
      '2,"x""y",3',
      '2,x,3 W',
      '2,x\0,3',
      '"2"1,x,3',
      '2,x,3\r4',
    ])
      expect(read(`1,x,2\n${odd}\n5,x,6\n`)).toMatchObject({ numbers: [1, 2], left: `${odd}\n5,x,6\n` });
  });

  it('takes a mark that parts the cells for nothing else', () => {
    expect(read('1,2,3\n', ',', ',').numbers).toEqual([1, 3]);
    expect(read('"1,5",2,3\n', ',', ',').numbers).toEqual([1.5, 3]);
    expect(read('1,5\t2\t3\n', '\t', ',').numbers).toEqual([1.5, 3]);
  });

  it('tells the shortest last cell, quotes not counted', () => {
    expect(read('1,x,"234"\n1,x, 23\n').shortestLastCell).toBe(3);
    expect(read('1,x,2345\n1,x,345,,\n').shortestLastCell).toBe(3);
  });

  it('hands on what it has when its memory is full', () => {
    const { numbers, left } = read('1,x,2\n'.repeat(1000));
    expect(numbers.length).toBeLessThan(2000);
    expect(numbers.length / 2 + left.length / '1,x,2\n'.length).toBe(1000);
  });
});
