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
    ['{\n  "ambientC": 23.5,\n}', 3, 1, 'a name in double quotes'],
    ['{"ambientC" 23}', 1, 13, '":"'],
    ['{"ambientC": 23,5}', 1, 17, 'a name in double quotes'],
    ['{"a": 1 "b": 2}', 1, 9, '"," or "}"'],
    ["{'a': 1}", 1, 2, 'a name in double quotes'],
    ['{"a": "x\ny"}', 1, 9, 'the closing double quote on this line'],
    ['{"a": "x', 1, 9, 'a closing double quote'],
    ['{"a": "\\q"}', 1, 8, 'a known escape after the backslash'],
    ['{"a": 1', 1, 8, '"," or "}"'],
    ['{} {}', 1, 4, 'nothing more'],
    ['', 1, 1, 'a value'],
    ['{"a": …}', 1, 7, 'a value'],
  ])('finds the place in %j', (text, line, column, expected) => {
    expect(() => JSON.parse(text)).toThrow();
    expect(findJsonFault(text)).toEqual({ line, column, expected });
  });

  it('gives up on nesting without end instead of overflowing', () => {
    expect(findJsonFault('['.repeat(100_000))?.expected).toBe('no more than 100 levels of nesting');
  });
});
