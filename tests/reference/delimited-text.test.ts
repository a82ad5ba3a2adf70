import { readdirSync, readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { type Delimiter, textRecords } from '../../toolkit/logs/cells/delimited-record.js';
import { isMissingText, numberFromText } from '../../toolkit/logs/cells/number-cell.js';
import { parseRun } from '../../toolkit/logs/read/parse-run.js';
import { readTableHead } from '../../toolkit/logs/table/dialect.js';
import { MESSY_TEXTS, PAPAPARSE_CASES } from './delimited-text-cases.js';

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

describe('PapaParse’s own cases', () => {
  it.each(PAPAPARSE_CASES)('%s (delimiter %j)', (_, delimiter, text, rows) => {
    expect(cellsOf(text.replace(/^\uFEFF/, ''), delimiter)).toEqual(rows);
  });
});

describe('csv-spectrum 2.0.0, all twelve files', () => {
  const folder = new URL('../../node_modules/csv-spectrum/', import.meta.url);
  const names = readdirSync(new URL('csvs/', folder)).map((name) => name.replace(/\.csv$/, ''));

  it('are twelve', () => {
    expect(names).toHaveLength(12);
  });

  it.each(names)('%s', (name) => {
    const [header, ...rows] = cellsOf(readFileSync(new URL(`csvs/${name}.csv`, folder), 'utf8'));
    const objects = rows.map((row) => Object.fromEntries(header.map((key, i) => [key, row[i]])));
    const expected = JSON.parse(readFileSync(new URL(`json/${name}.json`, folder), 'utf8')) as unknown;
    if (name !== 'location_coordinates') expect(objects).toEqual(expected);
    else {
      // Its expectation is one object and has another telephone number than its table; the quote within stays literal.
      const { 'Contact Phone Number': _, ...rest } = expected as Record<string, string>;
      expect(objects).toEqual([{ 'Contact Phone Number': '2095257564', ...rest }]);
    }
  });
});

describe('messytables’ collection of horrors', () => {
  const head = (name: keyof typeof MESSY_TEXTS) => {
    const { delimiter, header, rows } = readTableHead(new TextEncoder().encode(MESSY_TEXTS[name]), {
      isLast: true,
    });
    return { delimiter, header: header.cells, rowCount: rows.length };
  };

  it('has simple tables with three delimiters', () => {
    expect(head('simple comma')).toEqual({
      delimiter: ',',
      header: ['date', 'temperature', 'place'],
      rowCount: 6,
    });
    expect(head('simple semicolon')).toEqual({
      delimiter: ';',
      header: ['date', 'temperature', 'place'],
      rowCount: 6,
    });
    expect(head('simple bar')).toMatchObject({ delimiter: '|', rowCount: 5 });
    expect(head('simple bar').header).toHaveLength(6);
  });

  it('has a table of four rows and four columns with commas in numbers and cells without one', () => {
    const cells = cellsOf(MESSY_TEXTS.complex);
    expect(cells).toHaveLength(4);
    // A blank before the quote makes it a part of the cell, here as in RFC 4180, and its commas part cells.
    expect(cells.map((row) => row.length)).toEqual([4, 4, 4, 6]);
    expect(cellsOf(MESSY_TEXTS.complex.replace(', "', ',"'))[3]?.[2]).toBe('6,000,000');
  });

  it('has words for nothing, which are no values', () => {
    const cells = cellsOf(MESSY_TEXTS['words for nothing']);
    expect(cells).toHaveLength(10);
    expect(cells.flat().filter((cell) => isMissingText(cell))).toHaveLength(13);
  });

  it('has a byte order mark, which is no part of the first header', () => {
    expect(() => parseRun(new TextEncoder().encode(MESSY_TEXTS['byte order mark']))).toThrow(
      'the headers are "kitten", "win"',
    );
    expect(() => parseRun(MESSY_TEXTS['one letter'])).toThrow('the first line has one cell only: "a"');
  });

  it('has heads of titles and padding above the table, and lines that end with carriage returns', () => {
    const pasted = cellsOf(MESSY_TEXTS['pasted from a spreadsheet']);
    expect(pasted.map((row) => row.length)).toEqual([9, 9, 9, 9, 9, 9, 9, 9]);
    expect(numberFromText(pasted[4][1], '.')).toBe(2666);
    const padded = cellsOf(MESSY_TEXTS['padded head'], ';');
    const years = padded.find((row) => row[1] === '1985');
    expect(years).toHaveLength(11);
    const anomalies = cellsOf(MESSY_TEXTS['carriage returns']);
    expect(anomalies[3]?.slice(0, 3)).toEqual(['Year', 'Jan', 'Feb']);
    expect(anomalies[4]).toHaveLength(19);
    expect(isMissingText(anomalies[4][14])).toBe(true);
  });
});
