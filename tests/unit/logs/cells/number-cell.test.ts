import { describe, expect, it } from 'vitest';
import {
  hasThousands,
  isMissingText,
  numberFromBytes,
  numberFromText,
} from '../../../../toolkit/logs/cells/number-cell.js';

const read = (text: string, decimal = '.'): number => {
  const bytes = new TextEncoder().encode(text);
  return numberFromBytes(bytes, 0, bytes.length, decimal.charCodeAt(0));
};

describe('numberFromBytes', () => {
  it.each([
    '0',
    '-0',
    '7',
    '+7',
    '65.125',
    '.5',
    '5.',
    '  42 ',
    '1e3',
    '1.5E-7',
    '123456789012345',
    '0.1',
    '0.000001',
    '1234567890123456',
    '-31.400000000000002',
    '1899999999.1234567',
    ' 0.1234567890123456789 ',
    '0.00000000000000001',
    '1e300',
    '1e-400',
    '5e-324',
  ])('reads %s as Number does', (text) => {
    expect(Object.is(read(text), Number(text))).toBe(true);
  });

  it('rounds correctly: every decimal of up to 15 digits equals what Number makes of it', () => {
    // A multiplicative walk over digits, decimals and exponents; equality is exact.
    const wrong: string[] = [];
    let digits = 1n;
    for (let k = 0; k < 5000; k++) {
      digits = (digits * 6_364_136_223_846_793_005n + 1_442_695_040_888_963_407n) % 1_000_000_000_000_000n;
      const places = k % 16;
      const plain = digits.toString().padStart(16, '0');
      const text = `${plain.slice(1, 16 - places)}.${plain.slice(16 - places)}e${(k % 13) - 6}`;
      const value = read(text);
      if (!Number.isNaN(value) && value !== Number(text)) wrong.push(text);
    }
    expect(wrong).toEqual([]);
  });

  it('leaves what is too large or not plain to the slow way', () => {
    for (const text of [
      '1e400',
      '9'.repeat(400),
      '1234567890123456x',
      '1e',
      'e5',
      '',
      '-',
      '.',
      '1.2.3',
      '1,5',
      '0x10',
      'NaN',
      '1 2',
    ])
      expect(read(text), text).toBeNaN();
  });

  it('reads a decimal comma when told to, and then no point', () => {
    expect(read('31,5', ',')).toBe(31.5);
    expect(read('31,4000000000000021', ',')).toBe(31.400000000000002);
    expect(read('31.5', ',')).toBeNaN();
    expect(read('31.4000000000000021', ',')).toBeNaN();
  });
});

describe('numberFromText', () => {
  it('reads long numbers, typographic minus signs and hard blanks', () => {
    expect(numberFromText('0.1234567890123456789', '.')).toBe(0.12345678901234568);
    expect(numberFromText('−5,25', ',')).toBe(-5.25);
    expect(numberFromText('\u00a042\u00a0', '.')).toBe(42);
  });

  it('reads neither words nor hexadecimal, nor groups that are no thousands', () => {
    for (const text of ['abc', '0x10', 'Infinity', '1.234,5', '1,23', '12,3456', '1234,567', '1,234 567', ''])
      expect(numberFromText(text, '.'), text).toBeNaN();
    for (const text of ['1,234.5', '1.23', '1.2345,6', '1 23'])
      expect(numberFromText(text, ','), text).toBeNaN();
  });

  it('reads thousands set apart by the mark that is not the decimal one, a blank or an apostrophe', () => {
    for (const text of ['1,234.5', '1 234.5', '1\u00a0234.5', '1\u202f234.5', "1'234.5", '1’234.5'])
      expect(numberFromText(text, '.'), text).toBe(1234.5);
    expect(numberFromText('-12,345,678', '.')).toBe(-12_345_678);
    expect(numberFromText('1.234,5', ',')).toBe(1234.5);
    expect(numberFromText('1 234 567,25', ',')).toBe(1_234_567.25);
    expect(hasThousands('1,234', '.')).toBe(true);
    expect(hasThousands('1234', '.')).toBe(false);
  });
});

describe('isMissingText', () => {
  it('knows the usual words for no value', () => {
    for (const text of [
      '',
      ' ',
      'NA',
      'n/a',
      'N.A.',
      'NaN',
      '-nan',
      'null',
      'missing',
      'No data',
      '-',
      '--',
      '—',
      '.',
      '****',
    ])
      expect(isMissingText(text), text).toBe(true);
    for (const text of ['0', 'abc', '-1']) expect(isMissingText(text), text).toBe(false);
  });
});
