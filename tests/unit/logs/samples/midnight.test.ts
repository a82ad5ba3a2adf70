import { describe, expect, it } from 'vitest';
import { unwrapMidnights } from '../../../../toolkit/logs/samples/midnight.js';

/** Times of the day in seconds, as the reader has them: less those of the first sample. */
const unwrapped = (timesOfDayS: readonly number[]) => {
  const originS = timesOfDayS[0];
  const timeS = Float64Array.from(timesOfDayS, (time) => time - originS);
  const findings = unwrapMidnights(
    timeS,
    originS,
    timesOfDayS.map((_, i) => i + 2),
  );
  return { timeS: Array.from(timeS), findings };
};

describe('unwrapMidnights', () => {
  it('adds a day after each midnight', () => {
    const everyHalfHour = Array.from({ length: 150 }, (_, i) => (80_000 + 1800 * i) % 86_400);
    const { timeS, findings } = unwrapped(everyHalfHour);
    expect(timeS).toEqual(everyHalfHour.map((_, i) => 1800 * i));
    expect(findings).toMatchObject([{ code: 'midnight', count: 4, lines: [6, 54, 102, 150] }]);
    expect(findings[0].message).toMatch(/4 times \(line 6, 54, 102 …\)/);
  });

  it('takes a pause of an hour over midnight for midnight, and a longer one for a clock set back', () => {
    expect(unwrapped([86_000, 3200]).timeS).toEqual([0, 3600]);
    expect(unwrapped([86_000, 3201])).toEqual({ timeS: [0, -82_799], findings: [] });
  });

  it('takes the day back where stamps around midnight are out of order', () => {
    const { timeS, findings } = unwrapped([86_398, 1, 86_399, 2, 3]);
    expect(timeS).toEqual([0, 3, 1, 4, 5]);
    expect(findings).toMatchObject([{ count: 1, lines: [5] }]);
  });

  it('shifts nothing behind a single stray stamp', () => {
    const { timeS, findings } = unwrapped([86_000, 0, 86_002, 86_003]);
    expect(timeS).toEqual([0, 400, 2, 3]);
    expect(findings).toEqual([]);
  });

  it('leaves hours alone that count beyond a day', () => {
    const hours = [0, 86_390, 90_000, 3700];
    expect(unwrapped(hours)).toEqual({ timeS: hours, findings: [] });
  });
});
