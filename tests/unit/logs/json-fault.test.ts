import { describe, expect, it } from 'vitest';
import { findJsonFault } from '../../../toolkit/logs/json-fault.js';

describe('findJsonFault', () => {
  it('finds none where JSON.parse finds none', () => {
    for (const text of [
      '{}',
      '[]',
      ' {"a": [1, -2.5e+3, true, null, "x\\n\\u00b0\\""], "b": {"c": ""}} ',
      '0',
      '"x"',
    ])
      expect(findJsonFault(text)).toBeUndefined();
  });

  it.each([
    ['{\n  "ambientC": 23.5,\n}', 3, 1, 'a name in double quotes', 'take away the comma before it'],
    ['[1, 2, ]', 1, 8, 'a value', 'take away the comma before it'],
    ['{\n  // by hand\n}', 2, 3, 'a name in double quotes', 'take the remark away: JSON has none'],
    ['{"a": 1} # by hand', 1, 10, 'nothing more', 'take the remark away: JSON has none'],
    ['{"ambientC" 23}', 1, 13, '":"'],
    ['{"ambientC": 23,5}', 1, 17, 'a name in double quotes', 'write decimals with a point'],
    ['{"a": 1 "b": 2}', 1, 9, '"," or "}"'],
    ["{'a': 1}", 1, 2, 'a name in double quotes', 'write straight double quotes: "…"'],
    ['{“a”: 1}', 1, 2, 'a name in double quotes', 'write straight double quotes: "…"'],
    ['{"a": "x\ny"}', 1, 9, 'the closing double quote on this line'],
    ['{"a": "x', 1, 9, 'a closing double quote'],
    ['{"a": "\\q"}', 1, 8, 'a known escape after the backslash'],
    ['{"a": 1', 1, 8, '"," or "}"'],
    ['{} {}', 1, 4, 'nothing more'],
    ['', 1, 1, 'a value'],
    ['{"a": …}', 1, 7, 'a value'],
  ] as const)('finds the place in %j', (text, line, column, expected, remedy?: string) => {
    expect(() => JSON.parse(text)).toThrow();
    expect(findJsonFault(text)).toEqual({
      line,
      column,
      expected,
      ...(remedy === undefined ? {} : { remedy }),
    });
  });

  it('finds a name that stands twice in one object, however it is written', () => {
    expect(findJsonFault('{"a": {"b": 1}, "c": {"b": 1}}')).toBeUndefined();
    expect(findJsonFault('{"cooler": "flat",\n "c\\u006foler": "tower"}')).toEqual({
      line: 2,
      column: 2,
      expected: 'another name than "cooler", which is there already',
    });
  });

  it('gives up on nesting without end instead of overflowing', () => {
    expect(findJsonFault('['.repeat(100_000))?.expected).toBe('no more than 100 levels of nesting');
  });
});
