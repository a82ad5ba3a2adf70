import { describe, expect, it } from 'vitest';
import type { Delimiter } from '../../../../toolkit/logs/cells/delimited-record.js';
import { findDecimal, readTableHead } from '../../../../toolkit/logs/table/dialect.js';

const head = (text: string, delimiter?: Delimiter) =>
  readTableHead(new TextEncoder().encode(text), {
    isLast: true,
    ...(delimiter === undefined ? {} : { delimiter }),
  });

describe('readTableHead', () => {
  it.each([
    ['comma', 't,T,P\n0,30,65\n', ','],
    ['semicolon', 't;T;P\n0;30;65\n', ';'],
    ['tab', 't\tT\tP\n0\t30\t65\n', '\t'],
    ['vertical bar', 't|T|P\n0|30|65\n', '|'],
    ['semicolon beside decimal commas', 't;T;P\n0,5;30,1;65,2\n', ';'],
    ['semicolon beside commas in the header too', 'Time, s;Temp, °C;Power, W\n0,5;30,1;65,2\n', ';'],
    ['tab beside decimal commas', 't\tT\tP\n0,5\t30,1\t65,2\n', '\t'],
    ['comma beside quoted semicolons', 't,T,"P;x"\n0,30,65\n', ','],
    ['semicolon where times hold none', 'Time;T;P\n2031-05-09 14:30:00;30,5;65,1\n', ';'],
    ['comma at the end of each line', 't,T,P,\n0,30,65,\n', ','],
    ['comma from a header alone', 't,T,P', ','],
  ])('finds the %s', (_, text, delimiter) => {
    expect(head(text).delimiter).toBe(delimiter);
  });

  it('refuses to choose between two delimiters that fit equally well', () => {
    expect(() => head('a,b;c,d\n1,2;3,4\n1,2;3,4\n')).not.toThrow();
    expect(() => head('a|b\tc|d\te\n1|2\t3|4\t5\n')).toThrow('could be separated by tab or by vertical bar');
    expect(() => head('a|b\tc\nx|y\tz\n')).toThrow(
      "line 1: the cells could be separated by tab or by vertical bar; write the option { delimiter: '\\t' } or { delimiter: '|' }",
    );
    expect(head('a|b\tc\nx|y\tz\n', '|').delimiter).toBe('|');
  });

  it('says that a comma cannot be delimiter and decimal mark at once', () => {
    expect(() => head('t,T,P\n0,5,30,1,65,2\n1,0,30,5,65,3\n')).toThrow(
      'line 2: the header has 3 cells separated by comma, this line has 6; the comma may stand for the decimal mark as well; export the log again',
    );
  });

  it('says that a text has no delimiter at all', () => {
    expect(() => head('Dear diary\ntoday it was warm\n')).toThrow(
      'line 1: the first line has one cell only: "Dear diary"; separate the cells by comma, semicolon, tab or vertical bar',
    );
  });

  it('says that a text is empty', () => {
    for (const text of ['', '\n\n', '  \r\n '])
      expect(() => head(text)).toThrow('the log is empty; give delimited text');
  });
});

describe('findDecimal', () => {
  const rows = (...cells: string[]) => cells.map((cell, i) => ({ line: i + 2, cells: [cell] }));

  it('finds the mark from numbers that can be read in one way only', () => {
    expect(findDecimal(rows('1', '31.5'), [0]).decimal).toBe('.');
    expect(findDecimal(rows('1', '31,5'), [0]).decimal).toBe(',');
    expect(findDecimal(rows('0,512', '31,250'), [0]).decimal).toBe(',');
    expect(findDecimal(rows('1', '2'), [0]).decimal).toBe('.');
    expect(findDecimal(rows('−0,5', '+1,25e3'), [0]).decimal).toBe(',');
    expect(findDecimal(rows('x.5', '1,5'), [0]).decimal).toBe(',');
  });

  it('takes a comma before three digits for a decimal comma only if something else speaks for it', () => {
    expect(() => findDecimal(rows('65,104', '65,210'), [0])).toThrow(
      "line 2, column 1: \"65,104\" may have a decimal comma or a thousands separator; write the option { decimal: ',' } or { decimal: '.' }",
    );
  });

  it('refuses a file that has both marks', () => {
    expect(() => findDecimal(rows('31.5', '32,5'), [0])).toThrow(
      'line 3, column 1: "32,5" has a decimal comma and "31.5" a decimal point',
    );
  });
});
