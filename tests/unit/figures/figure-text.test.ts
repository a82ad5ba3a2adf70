import { describe, expect, it } from 'vitest';
import {
  balanced,
  literal,
  shortened,
  starred,
  titleBlock,
  wrapped,
} from '../../../toolkit/figures/figure-text.js';

describe('literal', () => {
  it('escapes what Plotly would take for a tag, an entity, a template or a formula', () => {
    expect(literal('<b>a</b> & %{meta.title} $x$')).toBe(
      '&lt;b&gt;a&lt;/b&gt; &amp; %&#123;meta.title} &#36;x&#36;',
    );
  });

  it('turns controls and marks of writing direction into blanks', () => {
    expect(literal('a\u2028b\u0000c\u202ed\ne')).toBe('a b c d e');
  });
});

describe('wrapped', () => {
  it('breaks between words and keeps a number with its ± and unit', () => {
    expect(wrapped('one kelvin more costs 3.1 ± 0.9 MHz', 27)).toEqual([
      'one kelvin more costs',
      '3.1 ± 0.9 MHz',
    ]);
    expect(wrapped('flat 58 mm', 7)).toEqual(['flat', '58 mm']);
    expect(wrapped("at 95 W 'flat 58 mm' is better", 16)).toEqual(['at 95 W', "'flat 58 mm' is", 'better']);
  });

  it('loses no word', () => {
    const text = 'Tower 88 mm and Loop 140 mm hold 85 °C at the default cap of 118 W';
    expect(wrapped(text, 20).join(' ')).toBe(text);
  });
});

describe('balanced', () => {
  it('takes no more lines than needed, none much shorter than the others', () => {
    const text = 'Loop with 140 mm radiator holds 85 °C at the default cap of 118 W';
    expect(wrapped(text, 60)).toHaveLength(2);
    expect(wrapped(text, 60)[1]).toBe('118 W');
    expect(balanced(text, 60)).toEqual([
      'Loop with 140 mm radiator holds',
      '85 °C at the default cap of 118 W',
    ]);
    expect(balanced('one line', 60)).toEqual(['one line']);
    expect(balanced('incomprehensibilities', 5)).toEqual(['incomprehensibilities']);
    expect(balanced('', 5)).toEqual([]);
  });
});

describe('starred', () => {
  it('puts a star in the place of the word, for a number with ± and for one with an interval', () => {
    const number = { kind: 'estimated', value: 82.3, standardError: 1.25, interval95: [79.8, 84.8] } as const;
    expect(starred(number, '°C')).toBe('82.3 ± 2.5 °C');
    expect(starred({ ...number, extrapolated: true }, '°C')).toBe('82.3 ± 2.5 °C*');
    expect(starred({ ...number, interval95: [81.8, 84.8], extrapolated: true }, '°C')).toBe(
      '82.3 °C (81.8 to 84.8 °C)*',
    );
  });
});

describe('shortened', () => {
  it('counts characters, not code units, and marks the cut', () => {
    expect(shortened('🎭🎭🎭🎭', 3)).toBe('🎭🎭…');
    expect(shortened('short', 10)).toBe('short');
  });
});

describe('titleBlock', () => {
  it('gives room for each line', () => {
    const short = titleBlock('Finding', 'below');
    const long = titleBlock('Finding '.repeat(20), 'below');
    expect(long.heightPx).toBeGreaterThan(short.heightPx);
    expect(long.text.match(/<br>/g)!.length).toBeGreaterThan(2);
  });
});
