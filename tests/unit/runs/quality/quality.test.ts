import { describe, expect, it } from 'vitest';
import { makeRun, type RunColumns } from '../../../../toolkit/runs/make-run.js';
import { samplingOf } from '../../../../toolkit/runs/quality/sampling.js';
import { spikesOf } from '../../../../toolkit/runs/quality/spikes.js';
import { quantumOf } from '../../../../toolkit/runs/quantum.js';
import { laggingRun, seededNormal, seededUniform, syntheticRun } from '../synthetic-run.js';

const seconds = (count: number) => Array.from({ length: count }, (_, i) => i);
/** Lines of a log with one header line. */
const lineNumbers = (count: number) => seconds(count).map((i) => i + 2);

/** A clean run: load from 60 s on, noise as small sensors have it. */
function cleanColumns(count = 600): {
  timeS: number[];
  temperatureC: number[];
  powerW: number[];
  ambientC: number[];
} {
  const noise = seededNormal(7);
  const timeS = seconds(count);
  return {
    timeS,
    temperatureC: timeS.map((t) => (t < 60 ? 35 : 75 - 30 * Math.exp(-(t - 60) / 80)) + 0.2 * noise()),
    powerW: timeS.map((t) => (t < 60 ? 15 : 80) + 0.5 * noise()),
    ambientC: timeS.map(() => 22 + 0.1 * noise()),
  };
}

function findingsOf(columns: RunColumns, conditions = {}) {
  return makeRun(columns, { label: 'x', conditions, lineNumbers: lineNumbers(columns.timeS.length) })
    .findings;
}

const codesOf = (columns: RunColumns, conditions = {}) =>
  findingsOf(columns, conditions).map(({ code }) => code);

describe('quality findings', () => {
  it('has nothing to say about a clean run', () => {
    expect(codesOf(cleanColumns())).toEqual([]);
  });

  it('has nothing to say about smooth runs without noise, in steady state or not', () => {
    for (const powerW of [() => 60, (timeS: number) => (timeS < 100 ? 15 : 60)])
      expect(syntheticRun({ durationS: 1800, powerW }).findings).toEqual([]);
  });

  it('reports gaps with the lines after them and fills nothing in', () => {
    const columns = cleanColumns();
    const kept = seconds(600).filter((i) => !(i > 100 && i < 120) && !(i > 300 && i < 305));
    const pick = (values: readonly number[]) => kept.map((i) => values[i]);
    const gappy = {
      timeS: pick(columns.timeS),
      temperatureC: pick(columns.temperatureC),
      powerW: pick(columns.powerW),
    };
    const run = makeRun(gappy, { label: 'x', lineNumbers: lineNumbers(kept.length) });
    expect(run.timeS).toHaveLength(kept.length);
    const finding = run.findings.find(({ code }) => code === 'gap');
    // Samples 0 … 100 stand in lines 2 … 102; the log resumes in line 103, and 181 samples later again.
    expect(finding).toMatchObject({ count: 2, lines: [103, 284], rangeS: [100, 120], severity: 'note' });
    expect(finding?.message).toMatch(
      /2 gaps longer than 3 s .*together 25 s, the longest 20 s; nothing was filled in/,
    );
  });

  it('reports irregular sampling, and no gaps in a log that is written on change', () => {
    const noise = seededNormal(3);
    const timeS: number[] = [0];
    for (let i = 1; i < 400; i++) timeS.push(timeS[i - 1] + Math.exp(0.8 * noise()));
    const finding = findingsOf({
      timeS,
      temperatureC: timeS.map((t) => 40 + 0.01 * t),
      powerW: timeS.map(() => 60),
    }).find(({ code }) => code === 'irregular-sampling');
    expect(finding?.message).toMatch(
      /% of the intervals differ by more than a quarter.*nothing was resampled/,
    );
  });

  it('reports a temperature that hangs while the power steps, with the line where it begins', () => {
    const columns = cleanColumns();
    for (let i = 40; i < 160; i++) columns.temperatureC[i] = 35.25;
    const finding = findingsOf(columns).find(({ code }) => code === 'stuck-sensor');
    expect(finding).toMatchObject({ count: 1, lines: [42], rangeS: [40, 159], severity: 'serious' });
    expect(finding?.message).toMatch(/temperature repeats one reading for 119 s while the power moved/);
  });

  it('reports a power reading that hangs while the processor cools', () => {
    const run = syntheticRun({ durationS: 1200, powerW: (timeS) => (timeS < 600 ? 80 : 15) });
    const stuck = makeRun(
      { ...run, powerW: run.powerW.map(() => 80) },
      { label: 'x', lineNumbers: lineNumbers(run.timeS.length) },
    );
    expect(stuck.findings.find(({ code }) => code === 'stuck-sensor')?.message).toMatch(
      /power repeats one reading for 1200 s while the temperature fell by 10 K or more/,
    );
  });

  it('does not doubt an exactly held power while the processor cools from the load before', () => {
    const timeS = seconds(601);
    const columns = {
      timeS,
      powerW: timeS.map((t) => (t < 200 || t > 400 ? 5 : 80)),
      temperatureC: timeS.map((t) =>
        t < 200 ? 25 : t <= 400 ? 65 - 40 * Math.exp((200 - t) / 60) : 25 + 38.6 * Math.exp((400 - t) / 60),
      ),
    };
    expect(codesOf(columns, { ambientC: 22 })).not.toContain('stuck-sensor');
    // Nor where the log begins after the load, so that the fall of power is not in it.
    const fromIdle = (values: readonly number[]) => values.slice(402);
    expect(
      codesOf({
        timeS: fromIdle(timeS),
        powerW: fromIdle(columns.powerW),
        temperatureC: fromIdle(columns.temperatureC),
      }),
    ).toEqual([]);
  });

  it.each([
    [8, 30, 0],
    [3, 400, 0],
    [20, 600, 5],
    [6, 1300, 15],
    [60, 60, 15],
  ])(
    'does not doubt a held power while stages of %d s and %d s cool behind a lag of %d s',
    (fastS, slowS, lagS) => {
      const powerW = (t: number) => (t < 300 ? 150 : t < 900 ? 10 : t < 1500 ? 45 : 5);
      const run = laggingRun({ durationS: 2400, powerW, fastS, slowS, lagS });
      expect(run.findings.filter(({ code }) => code === 'stuck-sensor')).toEqual([]);
    },
  );

  it('does not doubt a held power while a fan that speeds up cools the processor', () => {
    const timeS = seconds(900);
    const columns = {
      timeS,
      powerW: timeS.map(() => 80),
      temperatureC: timeS.map((t) => (t < 400 ? 78 : 63 + 15 * Math.exp((400 - t) / 40))),
      fanSpeedRpm: timeS.map((t) => (t < 400 ? 900 : 1700)),
    };
    expect(codesOf(columns)).not.toContain('stuck-sensor');
    // A fan that slows down cools nothing: there the power must have fallen unseen.
    const slowed = { ...columns, fanSpeedRpm: timeS.map((t) => (t < 400 ? 1700 : 900)) };
    expect(codesOf(slowed)).toContain('stuck-sensor');
  });

  it('does not doubt a temperature that rests after a fall of power, or answers a rise some seconds late', () => {
    const timeS = seconds(900);
    // A moving mean of ten samples, as some power sensors give, and a temperature that is read every 10 s.
    const drawn = (t: number) => (t < 300 ? 80 : t < 600 ? 5 : 80);
    const columns = {
      timeS,
      powerW: timeS.map((t) => seconds(10).reduce((sum, back) => sum + drawn(t - back) / 10, 0)),
      temperatureC: timeS.map((t) => (drawn(10 * Math.floor(t / 10) - 2) === 80 ? 40 : 30)),
    };
    expect(codesOf(columns)).not.toContain('stuck-sensor');
  });

  it('does not doubt a temperature that is held at its limit while the power gives way', () => {
    const timeS = seconds(900);
    const columns = {
      timeS,
      powerW: timeS.map((t) => (t < 60 ? 10 : 75 + 43 * Math.exp((60 - t) / 200))),
      temperatureC: timeS.map((t) => (t < 60 ? 35 : Math.min(95, 70 + t - 60))),
    };
    expect(codesOf(columns)).not.toContain('stuck-sensor');
    // Falling to idle is no giving way.
    const stuck = { ...columns, powerW: columns.powerW.map((power, t) => (t < 600 ? power : 8)) };
    expect(codesOf(stuck)).toContain('stuck-sensor');
  });

  it.each([30, 150, 400])('sees a power that hangs while a cooler of %d s cools down', (slowS) => {
    const run = laggingRun({
      durationS: 900 + 4 * slowS,
      powerW: (t) => (t < 600 ? 80 : 10),
      fastS: 5,
      slowS,
      lagS: 3,
    });
    const hung = { ...run, powerW: run.powerW.map(() => 80) };
    expect(codesOf(hung)).toContain('stuck-sensor');
  });

  it('sees a temperature that hangs from the moment the load begins', () => {
    const columns = cleanColumns();
    for (let i = 60; i < 200; i++) columns.temperatureC[i] = 35.25;
    expect(codesOf(columns)).toContain('stuck-sensor');
  });

  it('does not doubt a coarse sensor that stands still in steady state', () => {
    const columns = cleanColumns();
    const rounded = {
      ...columns,
      temperatureC: columns.timeS.map((t) => (t < 60 ? 35 : Math.round(75 - 30 * Math.exp(-(t - 60) / 80)))),
    };
    expect(codesOf(rounded)).not.toContain('stuck-sensor');
  });

  it('estimates the step of coarse sensors and says what it means', () => {
    const columns = cleanColumns();
    const noise = seededNormal(5);
    const coarse = {
      ...columns,
      temperatureC: columns.temperatureC.map((value) => Math.round(value)),
      frequencyMHz: columns.timeS.map(() => 25 * Math.floor((3900 + 40 * noise()) / 25)),
    };
    const messages = findingsOf(coarse)
      .filter(({ code }) => code === 'coarse-quantum')
      .map(({ message }) => message);
    expect(messages).toHaveLength(2);
    expect(messages[0]).toMatch(/temperature comes in steps of 1 K: each sample is uncertain by 0\.29 K/);
    expect(messages[1]).toMatch(/frequency comes in steps of 25 MHz: each sample is uncertain by 7\.2 MHz/);
  });

  it('reports single samples that stand out, with their lines, and keeps them', () => {
    const columns = cleanColumns();
    columns.temperatureC[200] = 99;
    columns.temperatureC[400] = 20;
    const run = makeRun(columns, { label: 'x', lineNumbers: lineNumbers(600) });
    expect(run.temperatureC[200]).toBe(99);
    const finding = run.findings.find(({ code }) => code === 'spike');
    expect(finding).toMatchObject({ count: 2, lines: [202, 402], severity: 'warning' });
    expect(finding?.message).toMatch(
      /2 samples of the temperature stand out.*up to 5\d\.?\d* K; kept as logged/,
    );
  });

  it('reports drifting room air, and a stated value that differs from the measured one', () => {
    const columns = cleanColumns();
    const drifting = { ...columns, ambientC: columns.timeS.map((t) => 21 + t / 300) };
    expect(codesOf(drifting)).toEqual(['drifting-ambient']);
    expect(codesOf(columns, { ambientC: 26 })).toEqual(['ambient-disagrees']);
    expect(codesOf(columns, { ambientC: 23 })).toEqual([]);
  });

  it('reports a processor colder than its air', () => {
    const { ambientC: _, ...columns } = cleanColumns();
    const finding = findingsOf(columns, { ambientC: 40 }).find(({ code }) => code === 'below-ambient');
    // The first minute reads 35 °C, two more kelvins below 40.
    expect(finding).toMatchObject({ count: 60, severity: 'serious' });
  });

  it.each([
    ['powerW', 1000, /power reaches .* W, outside 0\.5 to 2000 W/, /units: \{ power: 'mW' \}/],
    ['powerW', 1 / 1000, /power reaches 0\.08/, /units: \{ power: 'kW' \}/],
    [
      'frequencyMHz',
      1 / 1000,
      /frequency reaches 4 MHz/,
      /makes it 4000 MHz, .* units: \{ frequency: 'GHz' \}/,
    ],
    ['frequencyMHz', 1e6, /frequency reaches 4000000000 MHz/, /units: \{ frequency: 'Hz' \}/],
    ['voltageV', 1 / 1000, /voltage reaches 0\.0011 V/, /^check that the sensor is in use/],
    ['frequencyMHz', 1000, /frequency reaches 4000000 MHz/, /units: \{ frequency: 'kHz' \}/],
    ['voltageV', 1000, /voltage reaches 1100 V/, /units: \{ voltage: 'mV' \}/],
    ['temperatureC', 1.8, /temperature reaches 13\d\.?\d* °C/, /units: \{ temperature: '°F' \}/],
  ] as const)('suspects %s of a wrong unit at %s times its value', (column, factor, message, remedy) => {
    const columns = {
      ...cleanColumns(),
      frequencyMHz: seconds(600).map(() => 4000),
      voltageV: seconds(600).map(() => 1.1),
    };
    const scaled = { ...columns, [column]: columns[column].map((value) => value * factor) };
    const finding = findingsOf(scaled).find(({ code }) => code === 'implausible-range');
    expect(finding?.severity).toBe('serious');
    expect(finding?.message).toMatch(message);
    expect(finding?.remedy).toMatch(remedy);
  });

  it('suspects milliseconds where a run lasts for weeks', () => {
    const columns = cleanColumns(1200);
    const finding = findingsOf({ ...columns, timeS: columns.timeS.map((t) => t * 1000) }).find(
      ({ code }) => code === 'implausible-range',
    );
    expect(finding?.message).toMatch(/13\.88 days/);
    expect(finding?.remedy).toMatch(/units: \{ time: 'ms' \}/);
  });

  it('reports a temperature that answers power the wrong way round', () => {
    const columns = cleanColumns();
    const opposed = {
      ...columns,
      temperatureC: columns.timeS.map((t) => (t < 60 ? 75 : 40 + 35 * Math.exp(-(t - 60) / 20))),
    };
    const finding = findingsOf(opposed).find(({ code }) => code === 'temperature-against-power');
    expect(finding).toMatchObject({ severity: 'serious' });
    expect(finding?.remedy).toMatch(/which columns were taken/);
  });
});

describe('temperature against power', () => {
  /** Levels of power drawn at random, each held for some samples. */
  const switching = (holdS: number, seed: number) => {
    const uniform = seededUniform(seed);
    const levels = seconds(1200).map(() => [8, 40, 95][Math.floor(3 * uniform())]);
    return (t: number) => levels[Math.floor(t / holdS)];
  };

  it.each([
    [2, 5, 3],
    [4, 30, 5],
    [5, 60, 10],
    [6, 60, 0],
    [7, 120, 8],
    [10, 20, 12],
    [15, 90, 10],
    [30, 200, 15],
  ])(
    'takes no lag for opposition: power switched every %d s, a stage of %d s, a sensor lag of %d s',
    (holdS, slowS, lagS) => {
      for (let seed = 1; seed <= 6; seed++) {
        const run = laggingRun({
          durationS: 1200,
          powerW: switching(holdS, seed),
          fastS: slowS / 4,
          slowS,
          lagS,
          noiseK: 0.1,
        });
        expect(run.findings.map(({ code }) => code)).not.toContain('temperature-against-power');
      }
    },
  );

  it.each([10, 30, 60])(
    'is seen where the room below a limit was logged, with power switched every %d s',
    (holdS) => {
      const run = laggingRun({ durationS: 1200, powerW: switching(holdS, 3), fastS: 4, slowS: 60, lagS: 2 });
      const mirrored = { ...run, temperatureC: run.temperatureC.map((temperature) => 110 - temperature) };
      const finding = findingsOf(mirrored).find(({ code }) => code === 'temperature-against-power');
      expect(finding).toMatchObject({ severity: 'serious' });
      expect(finding?.message).toMatch(/no lag of the temperature explains it/);
    },
  );
});

describe('runs of few samples', () => {
  it.each([2, 19])('calls a run of %d samples too short, seriously', (count) => {
    const finding = findingsOf(cleanColumns(count)).find(({ code }) => code === 'too-few-samples');
    expect(finding).toMatchObject({ severity: 'serious', count });
    expect(finding?.message).toMatch(new RegExp(`only ${count} samples`));
    expect(finding?.remedy).toMatch(/leave this run out/);
  });

  it('has nothing to say about twenty', () => {
    expect(codesOf(cleanColumns(20))).toEqual([]);
  });

  it('counts what is left once time is in order', () => {
    const columns = cleanColumns(22);
    const repeated = { ...columns, timeS: columns.timeS.map((t) => 2 * Math.floor(t / 2)) };
    expect(findingsOf(repeated).find(({ code }) => code === 'too-few-samples')).toMatchObject({ count: 11 });
  });
});

describe('samplingOf', () => {
  it('takes three usual intervals for a gap, and not exactly three', () => {
    const { gapThresholdS, gaps } = samplingOf([0, 2, 4, 6, 12, 14, 21, 23]);
    expect(gapThresholdS).toBe(6);
    expect(gaps).toEqual([{ beforeIndex: 5, startS: 14, endS: 21 }]);
  });

  it('refuses a single time', () => {
    expect(() => samplingOf([1])).toThrow(/samplingOf: `timeS` must be at least two times/);
  });
});

describe('quantumOf', () => {
  const noise = seededNormal(11);
  const noisy = seconds(2000).map((i) => 60 + 10 * Math.sin(i / 150) + 0.6 * noise());
  it.each([0.1, 0.125, 0.25, 0.5, 1, 2])('finds the step of %s that rounding left', (step) => {
    const rounded = noisy.map((value) => step * Math.round(value / step));
    // Multiples of a binary-inexact step differ from it in the last bits only.
    expect(quantumOf(rounded)).toBeCloseTo(step, 9);
  });

  it('finds the step of whole degrees Fahrenheit printed in Celsius with two decimals', () => {
    const printed = noisy.map((value) => Number((Math.round(value * 1.8) / 1.8).toFixed(2)));
    // Printing with two decimals leaves 0.01 K of play in every difference.
    expect(Math.abs(quantumOf(printed)! - 5 / 9)).toBeLessThan(0.005);
  });

  it('finds none in continuous noise or in a constant', () => {
    expect(quantumOf(noisy)).toBeUndefined();
    expect(quantumOf(seconds(500).map(() => 60))).toBeUndefined();
  });
});

describe('spikesOf', () => {
  it('follows steps and ramps and sees pairs of samples that jump and come back', () => {
    const noise = seededNormal(13);
    const values = seconds(300).map((i) => (i < 100 ? 20 : 60) + 0.1 * i + 0.2 * noise());
    expect(spikesOf(values, 1)).toEqual([]);
    values[150] += 10;
    values[200] -= 10;
    values[201] -= 10;
    expect(spikesOf(values, 1)).toEqual([150, 200, 201]);
  });

  it('takes the overshoot at the edge of a step for part of the step', () => {
    const noise = seededNormal(19);
    const values = seconds(200).map((i) => (i < 100 ? 16 : 95) + 0.3 * noise());
    values[100] = 125;
    expect(spikesOf(values, 5)).toEqual([]);
    // Also where the log begins just before it.
    expect(spikesOf(values.slice(96), 5)).toEqual([]);
  });

  it('finds the same samples as plain sorting, also in heavy tails', () => {
    const noise = seededNormal(17);
    const values = seconds(3000).map((i) => (i < 2000 ? 0 : 40) + noise() ** 5);
    const middle = (list: readonly number[]) => [...list].sort((a, b) => a - b)[list.length >> 1];
    const inner = seconds(2996).map((k) => Math.abs(values[k + 2] - middle(values.slice(k, k + 5))));
    const threshold = 8 * 1.4826 * middle(inner);
    const expected = seconds(2986)
      .map((k) => k + 7)
      .filter((i) => inner[i - 2] > threshold)
      .filter(
        (i) => Math.abs(middle(values.slice(i + 1, i + 4)) - middle(values.slice(i - 3, i))) <= threshold,
      );
    expect(expected.length).toBeGreaterThan(50);
    expect(spikesOf(values, 0).filter((i) => i >= 7 && i < 2993)).toEqual(expected);
  });
});
