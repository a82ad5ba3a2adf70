import { describe, expect, it } from 'vitest';
import { makeRun } from '../../../toolkit/runs/make-run.js';
import { DEFAULT_AGEING_ASSUMPTIONS } from '../../../toolkit/wear/ageing-assumptions.js';
import { arrheniusRatio, cyclingRatio } from '../../../toolkit/wear/ageing-laws.js';
import { type AgeingRatio, relativeAgeing } from '../../../toolkit/wear/relative-ageing.js';

const hour = (label: string, temperatureC: readonly number[]) => ({
  label,
  timeS: temperatureC.map((_, i) => (3600 * i) / (temperatureC.length - 1)),
  temperatureC,
});
const uncapped = hour('default cap', [30, 88, 40, 88, 30]);
const capped = hour('cap of 92 W', [30, 74, 38, 74, 30]);

function compared(ratio: AgeingRatio): Extract<AgeingRatio, { kind: 'compared' }> {
  if (ratio.kind === 'not-comparable') throw new Error(ratio.reason);
  return ratio;
}

describe('relativeAgeing', () => {
  it('gives 1 for a schedule against itself, whatever is assumed', () => {
    for (const ratio of [relativeAgeing(capped, capped).cycling, relativeAgeing(capped, capped).steady])
      expect(compared(ratio)).toMatchObject({ speedRatio: 1, lowRatio: 1, highRatio: 1 });
  });

  it('says what each schedule is made of', () => {
    // Played again and again: 30 to 88 °C and back, and within it 88 to 40 °C and back.
    expect(relativeAgeing(uncapped, capped).schedules).toMatchObject([
      { label: 'default cap', durationS: 3600, cycleCount: 2, largestRangeK: 58, highestC: 88 },
      { label: 'cap of 92 W', durationS: 3600, cycleCount: 2, largestRangeK: 44, highestC: 74 },
    ]);
  });

  it('gives the inverse when the schedules change places', () => {
    const there = relativeAgeing(uncapped, capped);
    const back = relativeAgeing(capped, uncapped);
    for (const by of ['cycling', 'steady'] as const) {
      expect(compared(there[by]).speedRatio * compared(back[by]).speedRatio).toBeCloseTo(1, 12);
      expect(compared(there[by]).lowRatio * compared(back[by]).highRatio).toBeCloseTo(1, 12);
    }
  });

  it('does not depend on how often a schedule is played within the log', () => {
    const twice = {
      label: 'twice',
      timeS: [...uncapped.timeS, ...uncapped.timeS.slice(1).map((t) => t + 3600)],
      temperatureC: [...uncapped.temperatureC, ...uncapped.temperatureC.slice(1)],
    };
    const ageing = relativeAgeing(twice, uncapped);
    expect(compared(ageing.cycling).speedRatio).toBeCloseTo(1, 12);
    expect(compared(ageing.steady).speedRatio).toBeCloseTo(1, 12);
  });

  it('prints every assumption with its source, whether given or not', () => {
    const { assumptions } = relativeAgeing(uncapped, capped, {
      rangeExponent: 2.65,
      steadyActivationEnergyEv: { low: 0.6, likely: 0.7, high: 0.8, source: 'data sheet of the part' },
    });
    expect(assumptions.map(({ name, origin }) => [name, origin])).toEqual([
      ['rangeExponent', 'given'],
      ['frequencyExponent', 'default'],
      ['cyclingActivationEnergyEv', 'default'],
      ['steadyActivationEnergyEv', 'given'],
      ['smallestRangeK', 'default'],
      ['history', 'default'],
    ]);
    expect(assumptions[0].statement).toBe('damage of a cycle grows with its range to the power 2.65');
    expect(assumptions[3]).toMatchObject({
      statement: 'activation energy of ageing by time at temperature 0.7 eV (0.6 to 0.8 eV considered)',
      source: 'data sheet of the part',
    });
    for (const { statement, source } of assumptions)
      expect(`${statement}${source}`).not.toMatch(/NaN|undefined/);
    expect(assumptions.at(-1)!.statement).toMatch(/^each schedule is played again and again/);
  });

  it('uses the defaults that it exports', () => {
    const given = relativeAgeing(uncapped, capped, DEFAULT_AGEING_ASSUMPTIONS);
    const silent = relativeAgeing(uncapped, capped);
    expect(given.cycling).toEqual(silent.cycling);
    expect(given.steady).toEqual(silent.steady);
  });

  it('says how far the ratio depends on each assumption', () => {
    const cycling = compared(relativeAgeing(uncapped, capped).cycling);
    expect(cycling.sensitivities.map(({ name }) => name)).toEqual([
      'rangeExponent',
      'frequencyExponent',
      'cyclingActivationEnergyEv',
      'smallestRangeK',
    ]);
    const ofRange = cycling.sensitivities[0];
    expect(ofRange.lowEndRatio).toBeLessThan(cycling.speedRatio);
    expect(ofRange.highEndRatio).toBeGreaterThan(cycling.speedRatio);
    for (const { lowEndRatio, highEndRatio } of cycling.sensitivities) {
      expect(Math.min(lowEndRatio, highEndRatio)).toBeGreaterThanOrEqual(cycling.lowRatio);
      expect(Math.max(lowEndRatio, highEndRatio)).toBeLessThanOrEqual(cycling.highRatio);
    }
    expect(compared(relativeAgeing(uncapped, capped, { ...exact }).cycling)).toMatchObject({
      sensitivities: [],
    });
  });

  const exact = {
    rangeExponent: 2,
    frequencyExponent: 0,
    cyclingActivationEnergyEv: 0,
    steadyActivationEnergyEv: 0.7,
    smallestRangeK: 2,
  };

  it('says it in one sentence, and never names a time to failure', () => {
    const ageing = relativeAgeing(uncapped, capped);
    expect(ageing.summary).toMatch(
      /^Per hour, 'default cap' against 'cap of 92 W': by temperature cycles it ages [\d.]+ times as fast \([\d.]+ to [\d.]+ over the assumptions considered\), by time at temperature it ages [\d.]+ times as fast \(/,
    );
    expect(JSON.stringify(ageing)).not.toMatch(/year|lifetime of|hours to/i);
    expect(ageing.cautions.join(' ')).toContain('No lifetime follows from it.');
    expect(ageing.cautions.join(' ')).toContain("makers' limits");
    expect(JSON.parse(JSON.stringify(ageing))).toEqual(ageing);
  });

  it('gives the constant temperature that ages as fast', () => {
    const ageing = relativeAgeing(uncapped, capped, exact);
    const [{ equivalentTemperatureC: first }, { equivalentTemperatureC: second }] = ageing.schedules;
    const ratio = arrheniusRatio({ temperatureC: first, referenceC: second, activationEnergyEv: 0.7 });
    expect(ratio / compared(ageing.steady).speedRatio).toBeCloseTo(1, 9);
    // Hot hours count more than the mean says.
    expect(first).toBeGreaterThan(59);
    expect(first).toBeLessThan(88);
  });

  it('cannot compare with a schedule that has no cycle, and says which', () => {
    const idle = hour('resting', [30, 30.5, 30]);
    const ageing = relativeAgeing(uncapped, idle);
    expect(ageing.cycling).toEqual({
      kind: 'not-comparable',
      reason: "'resting' has no cycle of 2 K or more",
    });
    expect(ageing.summary).toContain(
      "by temperature cycles it cannot be compared ('resting' has no cycle of 2 K or more)",
    );
    expect(compared(ageing.steady).speedRatio).toBeGreaterThan(1);
  });

  it('warns where a repeated schedule jumps from its end to its start', () => {
    const open = hour('cut short', [30, 60, 80]);
    const jump = /^'cut short' starts at 30 °C and ends at 80 °C: played again, the jump of 50 K/;
    expect(relativeAgeing(open, capped).cautions[0]).toMatch(jump);
    expect(relativeAgeing(open, capped, { history: 'once' }).cautions[0]).not.toMatch(jump);
  });

  it('takes runs', () => {
    const timeS = Array.from({ length: 100 }, (_, i) => 10 * i);
    const run = (label: string, swingK: number) =>
      makeRun(
        {
          timeS,
          temperatureC: timeS.map((t) => 50 + swingK * Math.sin(t / 40)),
          powerW: timeS.map(() => 60),
        },
        { label },
      );
    expect(
      compared(relativeAgeing(run('wide', 20), run('narrow', 10), exact).cycling).speedRatio,
    ).toBeCloseTo(4, 6);
  });

  it.each<[string, () => unknown, string]>([
    [
      'temperatures without times',
      () => relativeAgeing([20, 80, 20] as never, capped),
      'relativeAgeing: `first` must be a run, or { timeS, temperatureC } with at least two samples (received an array of 3); how fast a schedule ages is a rate: give the times as well',
    ],
    [
      'a mistyped assumption',
      () => relativeAgeing(uncapped, capped, { rangeExponant: 2 } as never),
      'relativeAgeing: `assumptions.rangeExponant` must be one of rangeExponent, frequencyExponent, cyclingActivationEnergyEv, steadyActivationEnergyEv, smallestRangeK, history (received "rangeExponant"); did you mean rangeExponent?',
    ],
    [
      'a range out of order',
      () => relativeAgeing(uncapped, capped, { rangeExponent: { low: 3, likely: 2, high: 4 } }),
      'relativeAgeing: `assumptions.rangeExponent` must be in order, `low` ≤ `likely` ≤ `high` (received "3, 2, 4")',
    ],
    [
      'an energy in another unit',
      () => relativeAgeing(uncapped, capped, { steadyActivationEnergyEv: 67.5 }),
      'relativeAgeing: `assumptions.steadyActivationEnergyEv` must be a finite number at least 0 and at most 5 (received 67.5)',
    ],
    [
      'a history of another kind',
      () => relativeAgeing(uncapped, capped, { history: 'daily' as never }),
      "relativeAgeing: `assumptions.history` must be 'repeating' or 'once' (received \"daily\")",
    ],
    [
      'a source that is no text',
      () =>
        relativeAgeing(uncapped, capped, {
          rangeExponent: { low: 1, likely: 2, high: 3, source: 5 as never },
        }),
      'relativeAgeing: `assumptions.rangeExponent.source` must be a text (received 5)',
    ],
  ])('refuses %s', (_, call, message) => {
    expect(call).toThrow(message);
  });
});

describe('the laws by themselves', () => {
  it.each<[string, () => unknown, string]>([
    [
      'a negative energy',
      () => arrheniusRatio({ temperatureC: 80, referenceC: 60, activationEnergyEv: -1 }),
      'arrheniusRatio: `comparison.activationEnergyEv` must be a finite number at least 0 and at most 5 (received -1); it is in eV, commonly 0.3 to 1.1',
    ],
    [
      'a temperature below absolute zero',
      () => arrheniusRatio({ temperatureC: -300, referenceC: 60, activationEnergyEv: 0.7 }),
      'arrheniusRatio: `comparison.temperatureC` must be a finite number above -273.15 (received -300)',
    ],
    [
      'a cycle without a range',
      () =>
        cyclingRatio({
          cycle: { rangeK: 0, highestC: 80, periodS: 60 },
          reference: { rangeK: 10, highestC: 80, periodS: 60 },
          rangeExponent: 2,
          frequencyExponent: 0,
          activationEnergyEv: 0,
        }),
      'cyclingRatio: `comparison.cycle.rangeK` must be a finite number above 0 (received 0)',
    ],
  ])('refuse %s', (_, call, message) => {
    expect(call).toThrow(message);
  });
});
