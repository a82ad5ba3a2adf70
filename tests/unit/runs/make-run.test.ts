import { describe, expect, it } from 'vitest';
import { ArgumentError } from '../../../toolkit/errors.js';
import { adoptRun, makeRun } from '../../../toolkit/runs/make-run.js';

const threeSamples = { timeS: [100, 101, 102], temperatureC: [31, 34, 36], powerW: [60, 60, 61] };

describe('makeRun', () => {
  it('copies the columns, shifts time to zero and keeps what it was told', () => {
    const temperatures = Object.freeze([31, 34, 36]);
    const times = new Float64Array([100, 101, 102]);
    const run = makeRun(
      { timeS: times, temperatureC: temperatures, powerW: [60, 60, 61], ambientC: [22, 22, 22] },
      { label: 'drawer', conditions: { cooler: 'flat 41 mm', powerCapW: 60 }, powerSample: 'instant' },
    );
    expect(run.timeS).toEqual(new Float64Array([0, 1, 2]));
    expect(run.temperatureC).toEqual(new Float64Array([31, 34, 36]));
    expect(run.ambientC).toEqual(new Float64Array([22, 22, 22]));
    expect(run.label).toBe('drawer');
    expect(run.conditions).toEqual({ cooler: 'flat 41 mm', powerCapW: 60 });
    expect(run.powerSample).toBe('instant');
    expect('frequencyMHz' in run).toBe(false);
    expect(times).toEqual(new Float64Array([100, 101, 102]));
  });

  it('takes power samples as interval means unless told otherwise', () => {
    expect(makeRun(threeSamples, { label: 'x' }).powerSample).toBe('interval-mean');
  });

  it('keeps the last of the samples that share a stamp and says so with their lines', () => {
    const run = makeRun(
      { timeS: [0, 1, 1, 2, 3], temperatureC: [30, 31, 32, 33, 34], powerW: [60, 60, 60, 60, 60] },
      { label: 'x', lineNumbers: [2, 3, 4, 5, 6] },
    );
    expect(run.timeS).toEqual(new Float64Array([0, 1, 2, 3]));
    expect(run.temperatureC).toEqual(new Float64Array([30, 32, 33, 34]));
    const finding = run.findings.find(({ code }) => code === 'duplicate-time');
    expect(finding).toMatchObject({ count: 1, lines: [3] });
    expect(finding?.message).toMatch(/last sample was kept/);
  });

  it('leaves out the one stamp that ran ahead, not all that follow it', () => {
    const run = makeRun(
      { timeS: [0, 1, 5000, 3, 4], temperatureC: [30, 31, 32, 33, 34], powerW: [60, 60, 60, 60, 60] },
      { label: 'x', lineNumbers: [2, 3, 4, 5, 6] },
    );
    expect(run.timeS).toEqual(new Float64Array([0, 1, 3, 4]));
    expect(run.temperatureC).toEqual(new Float64Array([30, 31, 33, 34]));
    expect(run.findings.find(({ code }) => code === 'backward-time')).toMatchObject({ count: 1, lines: [4] });
  });

  it('calls two logs in one file serious and keeps the longer one unmixed', () => {
    const first = Array.from({ length: 50 }, (_, i) => i);
    const second = Array.from({ length: 80 }, (_, i) => i);
    const timeS = [...first, ...second];
    const run = makeRun(
      {
        timeS,
        temperatureC: [...first.map(() => 30), ...second.map(() => 50)],
        powerW: timeS.map(() => 60),
      },
      { label: 'x' },
    );
    expect([...new Set(run.temperatureC)]).toEqual([50]);
    expect(run.findings.find(({ code }) => code === 'backward-time')).toMatchObject({
      severity: 'serious',
      count: 50,
    });
  });

  it('puts findings made while reading first', () => {
    const read = { code: 'decimal-comma', severity: 'note', message: 'Read as decimal comma.' } as const;
    expect(makeRun(threeSamples, { label: 'x', findings: [read] }).findings[0]).toEqual(read);
  });

  it.each([
    [
      { ...threeSamples, powerW: [60, 60] },
      /makeRun: `samples\.powerW` must be as long as samples\.timeS, 3 values \(received 2\)/,
    ],
    [
      { ...threeSamples, temperatureC: [31, Number.NaN, 36] },
      /`samples\.temperatureC\[1\] \(line 8\)` must be a temperature above absolute zero.*received NaN.*leave the whole sample out/,
    ],
    [
      { ...threeSamples, temperatureC: [31, 34, -274] },
      /`samples\.temperatureC\[2\] \(line 9\)` must be a temperature above absolute zero/,
    ],
    [
      { ...threeSamples, timeS: [-1, 0, 1] },
      /`samples\.timeS\[0\] \(line 7\)` must be a time at or after zero/,
    ],
    [
      { ...threeSamples, powerW: [60, Number.POSITIVE_INFINITY, 1] },
      /`samples\.powerW\[1\] \(line 8\)` must be a power of at least 0 W/,
    ],
    [
      { ...threeSamples, frequencyMHz: [1, 2, -3] },
      /`samples\.frequencyMHz\[2\] \(line 9\)` must be a frequency of at least 0 MHz/,
    ],
    [
      { timeS: [5, 5, 5], temperatureC: [1, 2, 3], powerW: [1, 2, 3] },
      /at least two samples with different time stamps \(received "one time stamp in all 3 samples"\).*coolerFromSteadyPoints/,
    ],
    [
      { timeS: [9, 8, 7], temperatureC: [1, 2, 3], powerW: [1, 2, 3] },
      /at least two samples with different time stamps \(received "time that runs backwards throughout"\); give the samples in order of time/,
    ],
    [
      { ...threeSamples, powerW: [60, null, 61] } as never,
      /`samples\.powerW\[1\] \(line 8\)` must be a power of at least 0 W \(received null\).*leave the whole sample out/,
    ],
    [
      { ...threeSamples, temperatureC: [null, 34, 36] } as never,
      /`samples\.temperatureC\[0\] \(line 7\)` must be a temperature above absolute zero.*received null/,
    ],
    [
      { ...threeSamples, frequencyMHz: [4000, undefined, 4000] } as never,
      /`samples\.frequencyMHz\[1\] \(line 8\)` must be a frequency.*received undefined/,
    ],
    [
      { ...threeSamples, powerW: [60, '60', 61] } as never,
      /`samples\.powerW\[1\] \(line 8\)`.*received "60"/,
    ],
    [
      { ...threeSamples, timeS: [100n, 101n, 102n] } as never,
      /`samples\.timeS\[0\] \(line 7\)` must be a time.*received 100/,
    ],
    [
      { timeS: [0, 1, 2], powerW: [1, 2, 3] } as never,
      /`samples\.temperatureC` must be an array of numbers.*received undefined.*needed in every run/,
    ],
    [undefined as never, /`samples` must be an object with the columns/],
  ])('refuses columns that cannot be a run %#', (samples, message) => {
    const make = () => makeRun(samples, { label: 'x', lineNumbers: [7, 8, 9] });
    expect(make).toThrow(ArgumentError);
    expect(make).toThrow(message);
  });

  it.each([
    [
      { ambientC: Number.NaN },
      /`options\.conditions\.ambientC` must be a number from -40 to 70: air temperature at the cooler's intake.*\(received NaN\)$/,
    ],
    [
      { ambientC: -300 },
      /`options\.conditions\.ambientC` must be a number from -40 to 70.*\(received -300\)$/,
    ],
    [
      { ambientC: 295 },
      /`options\.conditions\.ambientC`.*\(received 295\); 295 looks like kelvin: subtract 273\.15, which gives 21\.85 °C/,
    ],
    [
      { powerCapW: 0 },
      /`options\.conditions\.powerCapW` must be a number above 0 and at most 2000.*received 0/,
    ],
    [{ cooler: '' }, /`options\.conditions\.cooler` must be a text, not empty/],
    [
      { ambient: 23 },
      /`options\.conditions\.ambient` must be one of the known conditions.*did you mean ambientC\?/,
    ],
    [
      'drawer',
      /`options\.conditions` must be an object such as \{ "ambientC": 23\.5 \} \(received "drawer"\)/,
    ],
  ])('refuses the conditions %j by the rules of a conditions file', (conditions, message) => {
    const make = () => makeRun(threeSamples, { label: 'x', conditions: conditions as never });
    expect(make).toThrow(ArgumentError);
    expect(make).toThrow(message);
    expect(make).toThrow(/^makeRun: /);
  });

  it('takes a condition that is undefined for one that was not given', () => {
    expect(makeRun(threeSamples, { label: 'x', conditions: { ambientC: undefined } as never }).label).toBe(
      'x',
    );
  });

  it('refuses options it cannot use', () => {
    expect(() => makeRun(threeSamples, {} as never)).toThrow(
      /`options\.label` must be a text that names the run/,
    );
    expect(() => makeRun(threeSamples, { label: 'x', powerSample: 'mean' as never })).toThrow(
      /`options\.powerSample` must be 'interval-mean' or 'instant' \(received "mean"\)/,
    );
    expect(() => makeRun(threeSamples, { label: 'x', lineNumbers: [1] })).toThrow(
      /`options\.lineNumbers` must be as long as samples\.timeS, 3 values \(received 1\)/,
    );
  });
});

describe('adoptRun', () => {
  it('keeps the arrays themselves', () => {
    const timeS = new Float64Array([5, 6]);
    const temperatureC = new Float64Array([30, 31]);
    const run = adoptRun({ timeS, temperatureC, powerW: new Float64Array([1, 1]) }, { label: 'x' });
    expect(run.temperatureC).toBe(temperatureC);
    expect(run.timeS).toBe(timeS);
    expect(timeS[0]).toBe(0);
  });
});
