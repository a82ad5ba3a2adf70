import { describe, expect, it } from 'vitest';
import { KnownMinute } from '../../../../toolkit/logs/cells/known-minute.js';
import { TimeCells } from '../../../../toolkit/logs/cells/time-cells.js';

const PLACE = { line: 2, column: 1 };

/** A reader that has learned the minute of `first`, and what all rules make of texts after it. */
function learned(first: string) {
  const times = new TimeCells('.', undefined);
  const read = (text: string): number => times.read(text, PLACE);
  read(first);
  const minute = new KnownMinute();
  minute.learn(first, read);
  return {
    byRules: read,
    read: (text: string): number => {
      const bytes = new TextEncoder().encode(`,${text},`);
      return minute.read(bytes, 1, bytes.length - 1);
    },
  };
}

// That logs come out as by all rules is asked in tests/property/plain-rows.test.ts.
describe('KnownMinute', () => {
  it.each([
    ['9:59:07', ['9:59:00', '9:59:59', '9:59:08.5', '9:59:08,123456789', '9:59:59.999999999']],
    ['2031-05-09T14:30:07.25Z', ['2031-05-09T14:30:08Z', '2031-05-09T14:30:08.000001Z']],
    ['2031-05-09 14:30:07+01:00', ['2031-05-09 14:30:59.5+01:00']],
    ['13.05.2031 14:30:07', ['13.05.2031 14:30:08', '13.05.2031 14:30:08,5']],
    ['2:30:07 PM', ['2:30:08 PM', '2:30:08.125 PM']],
  ])('reads what differs from %s in its seconds as all rules do', (first, others) => {
    const { read, byRules } = learned(first);
    for (const text of [first, ...others]) expect(read(text), text).toBe(byRules(text));
  });

  it.each([
    [
      '9:59:07',
      [
        '10:00:00',
        '19:59:07',
        '9:59:60',
        '9:59:7',
        '9:59:07.',
        '9:59:07.1234567891',
        '9:59:07 PM',
        '9:59:0a',
      ],
    ],
    [
      '2031-05-09T14:30:07Z',
      ['2031-05-10T14:30:07Z', '2031-05-09T14:30:07', '2031-05-09T14:30:07.5+01:00', ''],
    ],
    // The day ends at 24:00:00; there is no second after it.
    ['2031-05-09T24:00:00', ['2031-05-09T24:00:07']],
    ['2031-05-09T14:30+01:00', ['2031-05-09T14:30+01:07']],
    ['20310509T143007', ['20310509T143008']],
  ])('leaves others than those of the minute of %s to all rules', (first, others) => {
    const { read } = learned(first);
    for (const text of others) expect(read(text), text).toBeNaN();
  });

  it('forgets a minute when a time without seconds comes', () => {
    const minute = new KnownMinute();
    const bytes = new TextEncoder().encode('9:59:07');
    minute.learn('9:59:05', (text) => Number(text.slice(-2)));
    expect(minute.read(bytes, 0, bytes.length)).toBe(7);
    minute.learn('9:59', Number);
    expect(minute.read(bytes, 0, bytes.length)).toBeNaN();
  });
});
