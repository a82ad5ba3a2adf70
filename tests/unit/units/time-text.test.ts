import { describe, expect, it } from 'vitest';
import { timeFromText } from '../../../toolkit/units/time-text.js';

describe('timeFromText', () => {
  it('reads h:mm:ss with fractions after point or comma and hours beyond a day', () => {
    expect(timeFromText('0:00:07')).toEqual({ form: 'clock', wholeS: 7, fractionS: 0 });
    expect(timeFromText('1:02:03.250')).toEqual({ form: 'clock', wholeS: 3723, fractionS: 0.25 });
    expect(timeFromText('26:00:00,5')).toEqual({ form: 'clock', wholeS: 93_600, fractionS: 0.5 });
  });

  it('tells dates with a zone from dates without one', () => {
    expect(timeFromText('2031-05-09 14:30:00')?.form).toBe('local');
    expect(timeFromText('2031-05-09T14:30:00+02:00')?.form).toBe('zoned');
  });

  it.each([
    '12:34',
    '1:60:00',
    '1:00:61',
    '2031-13-01T00:00:00',
    '2031-02-29T00:00:00',
    '2031-00-10T00:00:00',
    '2031-05-09T25:00:00',
    '2031-05-09T24:00:01',
    '09.05.2031 14:30:00',
    '05/09/2031 14:30:00',
    '2031-05-09',
    'noon',
    '',
  ])('takes %s for no time', (text) => {
    expect(timeFromText(text)).toBeUndefined();
  });
});
