import { describe, expect, it } from 'vitest';
import { wrapped } from '../../../../toolkit/notebook/commands/wrapped.js';

describe('wrapped', () => {
  it('fills lines up to the width, the first with an indent of its own', () => {
    const text = wrapped('one two three four', { indent: '    ', firstIndent: '  - ', width: 12 });
    expect(text).toBe('  - one two\n    three\n    four');
  });

  it('holds numbers and their units together by no-break spaces', () => {
    // A plain space would end the line before the unit.
    expect(wrapped('a room of 26 °C', { indent: '', width: 12 })).toBe('a room of\n26\u00a0°C');
    expect(wrapped('0.53 ± 0.02 K/W', { indent: '', width: 8 })).toBe('0.53\u00a0±\u00a00.02\u00a0K/W');
    expect(wrapped('at 95 % in 3 s', { indent: '' })).toBe('at 95\u00a0% in 3\u00a0s');
  });

  it('leaves words that only begin like a unit where they are', () => {
    expect(wrapped('14 Watts, 2 samples, 3 mounts', { indent: '' })).toBe('14 Watts, 2 samples, 3 mounts');
  });

  it('keeps a word longer than the line whole', () => {
    expect(wrapped('see /a/very/long/path now', { indent: '', width: 8 })).toBe(
      'see\n/a/very/long/path\nnow',
    );
  });
});
