import { describe, expect, it } from 'vitest';
import {
  type Delimiter,
  newRecord,
  readRecord,
  textRecords,
} from '../../../../toolkit/logs/cells/delimited-record.js';

const bytesOf = (text: string): Uint8Array => new TextEncoder().encode(text);
const records = (text: string, delimiter: Delimiter = ',') =>
  textRecords(bytesOf(text), { delimiter, isLast: true, limit: 100 });

describe('textRecords', () => {
  it('ends records at LF, CRLF and CR alike and numbers their lines', () => {
    expect(records('a,b\nc,d\r\ne,f\rg,h')).toEqual([
      { line: 1, cells: ['a', 'b'] },
      { line: 2, cells: ['c', 'd'] },
      { line: 3, cells: ['e', 'f'] },
      { line: 4, cells: ['g', 'h'] },
    ]);
  });

  it('counts blank lines and line ends inside quotes, whatever they are', () => {
    expect(records('"a\nb\r\nc\rd",x\n\n  \ny,z').map(({ line }) => line)).toEqual([1, 7]);
  });

  it('keeps a row of nothing but delimiters, since it is a row without values', () => {
    expect(records('a,b\n,\n')[1]).toEqual({ line: 2, cells: ['', ''] });
  });

  it('takes a quote literally inside an unquoted cell and before text that follows a closing quote', () => {
    expect(records('5" disk,"a"b,""\n')).toEqual([{ line: 1, cells: ['5" disk', '"a"b', ''] }]);
  });

  it('holds more cells than a record is first made for', () => {
    const wide = Array.from({ length: 500 }, (_, i) => `"c${i}"`);
    expect(records(wide.join(';'), ';')[0]?.cells).toEqual(wide.map((cell) => cell.slice(1, -1)));
  });
});

describe('readRecord', () => {
  it.each(['a,b\r\nc,d\r\n', '"a","b""b"\r\nx', 'a,"b\r\nb"\n'])(
    'asks for more bytes wherever %j is cut, and never reads half a record',
    (text) => {
      const bytes = bytesOf(text);
      const whole = newRecord();
      const next = readRecord(bytes, 0, bytes.length, true, 44, whole);
      for (let cut = 0; cut < next; cut++) {
        const found = readRecord(bytes, 0, cut, false, 44, newRecord());
        expect(found, `cut after ${cut} bytes`).toBe(-1);
      }
    },
  );

  it('says that a quote was never closed', () => {
    const record = newRecord();
    const bytes = bytesOf('a,"b\nc,d\n');
    expect(readRecord(bytes, 0, bytes.length, true, 44, record)).toBe(bytes.length);
    expect(record.hasUnclosedQuote).toBe(true);
  });
});
