import { describe, expect, it } from 'vitest';
import { type Delimiter, textRecords } from '../../toolkit/logs/delimited-record.js';

const cellsOf = (text: string, delimiter: Delimiter = ','): readonly (readonly string[])[] =>
  textRecords(new TextEncoder().encode(text), { delimiter, isLast: true, limit: 1000 }).map(
    ({ cells }) => cells,
  );

describe('RFC 4180 section 2, the seven rules with their own examples', () => {
  it('1: each record is on a separate line, delimited by CRLF', () => {
    expect(cellsOf('aaa,bbb,ccc\r\nzzz,yyy,xxx\r\n')).toEqual([
      ['aaa', 'bbb', 'ccc'],
      ['zzz', 'yyy', 'xxx'],
    ]);
  });

  it('2: the last record may or may not have an ending line break', () => {
    expect(cellsOf('aaa,bbb,ccc\r\nzzz,yyy,xxx')).toEqual(cellsOf('aaa,bbb,ccc\r\nzzz,yyy,xxx\r\n'));
  });

  it('3: a header line has the same format as the records', () => {
    expect(cellsOf('field_name,field_name,field_name\r\naaa,bbb,ccc\r\n')[0]).toEqual([
      'field_name',
      'field_name',
      'field_name',
    ]);
  });

  it('4: spaces are part of a field', () => {
    expect(cellsOf(' aaa, bbb ,ccc ')).toEqual([[' aaa', ' bbb ', 'ccc ']]);
  });

  it('5: each field may or may not be enclosed in double quotes', () => {
    expect(cellsOf('"aaa","bbb","ccc"\r\nzzz,yyy,xxx')).toEqual([
      ['aaa', 'bbb', 'ccc'],
      ['zzz', 'yyy', 'xxx'],
    ]);
  });

  it('6: line breaks, double quotes and commas may stand in quoted fields', () => {
    expect(cellsOf('"aaa","b\r\nbb","ccc"\r\nzzz,yyy,xxx')).toEqual([
      ['aaa', 'b\r\nbb', 'ccc'],
      ['zzz', 'yyy', 'xxx'],
    ]);
  });

  it('7: a double quote in a quoted field is doubled', () => {
    expect(cellsOf('"aaa","b""bb","ccc"')).toEqual([['aaa', 'b"bb', 'ccc']]);
  });
});
