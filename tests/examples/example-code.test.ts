import { describe, expect, it } from 'vitest';
import { parseDocComment } from './doc-comment.js';
import { runExample } from './example-code.js';

const scope = {
  half: (x: number) => x / 2,
  refuse: () => {
    throw new Error('half: `x` must be even');
  },
};
const failuresOf = async (code: string) =>
  (await runExample(code, scope)).map(({ line, message }) => `${line}: ${message}`);

describe('the example runner', () => {
  it.each([
    'half(3); // => 1.5',
    'half(1) + 1e-12; // => 0.5',
    'half(2 / 3); // => 0.3333 within 1e-4',
    '[half(1), half(2)]; // => [0.5, 1]',
    'new Float64Array([1, 2]); // => [1, 2]',
    '({ a: half(4), b: 1 }); // => { a: 2 }',
    'refuse(); // => throws /must be even/',
    'const half = 3;\nhalf; // => 3',
    'const y: number = await Promise.resolve(half(8));\ny; // => 4',
    'half(\n  8,\n); // => 4',
    'half(8)\n// => 4',
    "'text'; // => 'text'",
    'undefined; // => undefined',
  ])('accepts what holds: %s', async (code) => {
    expect(await failuresOf(code)).toEqual([]);
  });

  it.each<[string, RegExp]>([
    ['half(3); // => 2', /^0: promised 2, but the value is 1\.5, not 2/],
    ['half(2 / 3); // => 0.34 within 1e-4', /not 0\.34 to 0\.0001/],
    ['const a = 1;\n[a, 2]; // => [1, 3]', /^1: promised \[1, 3\], but \[1\] is 2, not 3/],
    ['[1, 2]; // => [1]', /has length 2, not 1/],
    ['({ a: { b: 1 } }); // => { a: { b: 2 } }', /a\.b is 1, not 2/],
    ['({ a: 1 }); // => { b: 1 }', /b is undefined, not 1/],
    ['half(3); // => throws /even/', /promised to throw \/even\/, but gave 1\.5/],
    ['refuse(); // => 1', /promised 1, but threw half: `x` must be even/],
    ['refuse(); // => throws /odd/', /promised to throw \/odd\/, but threw half/],
    ['refuse();', /^0: threw half/],
    ['const a = half(3); // => 1.5', /^0: only the value of an expression can be promised/],
    ['// => 3\nhalf(6);', /follows no statement/],
    ['half(3;', /0: '\)' expected|0: ',' expected/],
    ['nobody(3); // => 1', /promised 1, but threw nobody is not defined/],
    ["'3'; // => 3", /the value is "3", not 3/],
  ])('refuses what does not hold: %s', async (code, message) => {
    const failures = await failuresOf(code);
    expect(failures).toHaveLength(1);
    expect(failures[0]).toMatch(message);
  });
});

describe('the reader of doc comments', () => {
  it('separates the description from the examples and keeps their lines', () => {
    const text = [
      '/**',
      ' * What it does.',
      ' *',
      ' * @param x - a number',
      ' * @example',
      ' * f({',
      ' *   a: 1,',
      ' * }); // => 2',
      ' * @example',
      ' * f(3);',
      ' */',
    ].join('\n');
    expect(parseDocComment(text, 10)).toEqual({
      description: 'What it does.',
      examples: [
        { code: '\nf({\n  a: 1,\n}); // => 2', line: 14 },
        { code: '\nf(3);', line: 18 },
      ],
    });
  });

  it('reads a comment of one line', () => {
    expect(parseDocComment('/** A thing. */', 1)).toEqual({ description: 'A thing.', examples: [] });
  });
});
