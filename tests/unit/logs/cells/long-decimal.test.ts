import { describe, expect, it } from 'vitest';
import { longQuotient } from '../../../../toolkit/logs/cells/long-decimal.js';

const quotient = (text: string): number => {
  const bytes = new TextEncoder().encode(text);
  return longQuotient(bytes, 0, bytes.length, text.length - 1 - text.indexOf('.'));
};

/** Digits from a multiplicative walk, so that every run asks the same. */
function* walk(count: number): Generator<{ readonly k: number; readonly digits: string }> {
  const span = 10n ** 24n;
  let state = 1n;
  for (let k = 0; k < count; k++) {
    state = (state * 6_364_136_223_846_793_005n + 1_442_695_040_888_963_407n) % span;
    yield { k, digits: String(state).padStart(24, '0') };
  }
}

// The language reads decimals correctly rounded [ECMAScript, StringToNumber], by other means: equality is exact.
describe('longQuotient', () => {
  it('equals what the language makes of decimals of 16 to 24 digits', () => {
    const wrong: string[] = [];
    let doubtCount = 0;
    for (const { k, digits } of walk(20_000)) {
      const length = 16 + (k % 9);
      const decimals = 1 + (k % Math.min(22, length - 1));
      const text = `${digits.slice(0, length - decimals)}.${digits.slice(length - decimals, length)}`;
      const value = quotient(text);
      if (Number.isNaN(value)) doubtCount++;
      else if (value !== Number(text)) wrong.push(text);
    }
    expect(wrong).toEqual([]);
    // Those that end in 5 may lie in the middle.
    expect(doubtCount).toBeLessThan(20);
  });

  it('equals it for the shortest decimals of doubles, as programs write them', () => {
    for (const { digits } of walk(5000)) {
      const double = Number(`${Number(digits.slice(0, 3))}.${digits.slice(3)}`) * (1 + 2 ** -50);
      const text = String(double);
      expect(quotient(text), text).toBe(double);
    }
  });

  it('leaves the middle between two doubles, and its neighbourhood, to others', () => {
    // 2^53 + 1 lies in the middle between 2^53 and 2^53 + 2.
    for (const text of ['9007199254740993.0', '900719925474099.30', '4503599627370497.5'])
      expect(quotient(text), text).toSatisfy(
        (value: number) => Number.isNaN(value) || value === Number(text),
      );
    expect(quotient('9007199254740993.0')).toBeNaN();
    expect(quotient('4503599627370497.5')).toBeNaN();
    expect(quotient('4503599627370497.50001')).toBe(4503599627370498);
    expect(quotient('4503599627370497.49999')).toBe(4503599627370497);
  });

  it('passes over zeros in front, and leaves more digits than 24 to others', () => {
    expect(quotient('0000000000031.400000000000002')).toBe(31.400000000000002);
    expect(quotient('0.0000000000314159265359')).toBe(0.0000000000314159265359);
    expect(quotient('1234567890123456.789012345')).toBeNaN();
  });
});
