import { describe, expect, it } from 'vitest';
import { makeRun } from '../../../../toolkit/runs/make-run.js';
import { loadSegments } from '../../../../toolkit/runs/segments/load-segments.js';
import { syntheticRun } from '../synthetic-run.js';

/** Idle for 120 s, load until 1320 s, then idle again. */
const step = (loadW: number) => (timeS: number) => (timeS < 120 || timeS > 1320 ? 18 : loadW);

/** A governor that holds power lets frequency give way as leakage grows: 6.5 MHz/K, common practice. */
const drooping = (powerW: number, temperatureC: number) =>
  powerW < 30 ? 1200 : 3000 + 8 * powerW - 6.5 * (temperatureC - 60);

describe('loadSegments', () => {
  it('finds idle, load at the cap and cool-down at the samples where power steps', () => {
    const run = syntheticRun({
      durationS: 1500,
      powerW: step(80),
      powerNoiseW: 0.8,
      temperatureNoiseK: 0.3,
      frequencyMHz: drooping,
      conditions: { powerCapW: 80 },
    });
    const { segments, capSource, powerCapW, findings } = loadSegments(run);
    expect(segments.map(({ kind, startIndex, endIndex }) => [kind, startIndex, endIndex])).toEqual([
      ['idle', 0, 120],
      ['load', 120, 1321],
      ['cool-down', 1321, 1501],
    ]);
    expect(segments[1]).toMatchObject({ limitedBy: 'cap', startS: 120, endS: 1320 });
    // 0.8 W noise over 1201 samples: standard error 0.023 W; four of them.
    expect(Math.abs(segments[1].meanPowerW - 80)).toBeLessThan(0.1);
    expect(segments[1].reason).toMatch(/power of 80.* W at the cap of 80 W/);
    expect({ capSource, powerCapW, findings }).toEqual({ capSource: 'given', powerCapW: 80, findings: [] });
  });

  it('tells a processor held back by its temperature, whose power falls on a plateau', () => {
    // Held at 85 °C from there on: the power is what the cooler carries away.
    const run = syntheticRun({
      durationS: 1320,
      timeConstantS: 200,
      powerW: (timeS) => {
        if (timeS < 120) return 18;
        const heatedK = 120 * 0.35 + (18 * 0.35 - 120 * 0.35) * Math.exp(-(timeS - 120) / 200);
        return Math.min(120, (85 - 22 - Math.min(heatedK, 38)) / 0.15, 126 - 0.05 * Math.max(0, timeS - 200));
      },
      frequencyMHz: drooping,
      conditions: { powerCapW: 120 },
    });
    const temperatures = run.temperatureC.map((_, i) =>
      run.timeS[i] > 220 ? 85 + 0.2 * Math.sin(i) : run.temperatureC[i],
    );
    const held = makeRun(
      { ...run, temperatureC: temperatures },
      { label: 'held', conditions: run.conditions },
    );
    const { segments, findings } = loadSegments(held);
    const last = segments.at(-1)!;
    expect(last).toMatchObject({ kind: 'load', limitedBy: 'temperature' });
    expect(last.reason).toMatch(
      /below the cap of 120 W: the temperature stays at 85 °C while the power falls by/,
    );
    const finding = findings.find(({ code }) => code === 'held-by-temperature');
    expect(finding).toMatchObject({ severity: 'warning' });
    expect(finding?.remedy).toMatch(/does not hold this cap/);
  });

  it('takes a deeply throttled stretch for load, since a pausing processor would cool', () => {
    const timeS = Array.from({ length: 900 }, (_, i) => i);
    const powerW = timeS.map((t) => (t < 60 ? 150 : 60 - 0.01 * (t - 60)));
    const temperatureC = timeS.map((t) => (t < 60 ? 40 + 0.83 * t : 90));
    const run = makeRun({ timeS, powerW, temperatureC }, { label: 'deep', conditions: { powerCapW: 150 } });
    const { segments } = loadSegments(run);
    expect(segments.map(({ kind }) => kind)).toEqual(['load', 'load']);
    expect(segments.map((segment) => (segment.kind === 'load' ? segment.limitedBy : ''))).toEqual([
      'cap',
      'temperature',
    ]);
  });

  it('calls a processor at its highest frequency held by frequency', () => {
    const run = syntheticRun({
      durationS: 900,
      powerW: (timeS, temperatureC) => (timeS < 60 ? 15 : 70 + 0.1 * (temperatureC - 22)),
      frequencyMHz: (powerW) => (powerW < 30 ? 1200 : 4100),
      conditions: { powerCapW: 95 },
    });
    const { segments, findings } = loadSegments(run);
    expect(segments[1]).toMatchObject({ kind: 'load', limitedBy: 'frequency' });
    expect(segments[1].reason).toMatch(/the frequency stands at 4100 MHz/);
    expect(findings.map(({ code }) => code)).toEqual(['held-by-frequency']);
  });

  it('calls power below the cap that nothing explains a matter of demand', () => {
    const run = syntheticRun({
      durationS: 900,
      powerW: (timeS) => (timeS < 60 ? 15 : 60 + 8 * Math.sin(timeS / 40)),
      frequencyMHz: (powerW) => 20 * powerW,
      conditions: { powerCapW: 95 },
    });
    const { segments, findings } = loadSegments(run);
    expect(segments[1]).toMatchObject({ kind: 'load', limitedBy: 'demand' });
    expect(findings.map(({ code }) => code)).toEqual(['held-by-demand']);
    expect(findings[0].message).toMatch(/From 60 to 900 s: power of .* W, below the cap of 95 W/);
  });

  it('suspects another cap where power below the stated one is held while frequency gives way', () => {
    const run = syntheticRun({
      durationS: 900,
      timeConstantS: 150,
      powerW: (timeS) => (timeS < 60 ? 15 : 65),
      powerNoiseW: 0.4,
      frequencyMHz: drooping,
      conditions: { powerCapW: 95 },
    });
    const { segments, findings } = loadSegments(run);
    expect(segments[1]).toMatchObject({ kind: 'load', limitedBy: 'cap' });
    expect(findings.map(({ code }) => code)).toEqual(['held-below-cap']);
    expect(findings[0].message).toMatch(/another cap seems to be in force/);
  });

  it('infers a cap that nobody stated from the power that was held, and says so', () => {
    const run = syntheticRun({
      durationS: 900,
      powerW: (timeS) => (timeS < 60 ? 15 : 65),
      powerNoiseW: 0.4,
      frequencyMHz: drooping,
    });
    const { segments, findings, capSource, powerCapW } = loadSegments(run);
    expect(segments[1]).toMatchObject({ kind: 'load', limitedBy: 'cap' });
    expect(capSource).toBe('inferred');
    expect(Math.abs(powerCapW! - 65)).toBeLessThan(0.2);
    expect(findings.map(({ code }) => code)).toEqual(['cap-inferred']);
  });

  it('infers no cap where the power wanders', () => {
    const run = syntheticRun({
      durationS: 900,
      powerW: (timeS) => (timeS < 60 ? 15 : 60 + 8 * Math.sin(timeS / 40)),
    });
    const { capSource, findings } = loadSegments(run);
    expect(capSource).toBe('unknown');
    expect(findings.map(({ code }) => code)).toEqual(['cap-unknown']);
  });

  it('divides a load at the end of a burst above the cap', () => {
    const run = syntheticRun({
      durationS: 900,
      powerW: (timeS) => (timeS < 60 ? 15 : timeS < 120 ? 120 : 80),
      frequencyMHz: drooping,
      conditions: { powerCapW: 80 },
    });
    const { segments, findings } = loadSegments(run);
    expect(segments.map(({ kind }) => kind)).toEqual(['idle', 'load', 'load']);
    // Blocks of 10 s: the change is found to one block.
    expect(Math.abs(segments[2].startS - 120)).toBeLessThanOrEqual(10);
    expect(segments[2]).toMatchObject({ limitedBy: 'cap' });
    expect(findings.map(({ code }) => code)).toEqual(['above-cap']);
  });

  it('tells idling by throughput where that was logged, even at powers too close to tell', () => {
    const recipe = {
      durationS: 600,
      powerW: (timeS: number) => (timeS < 100 ? 27 : 45),
      conditions: { powerCapW: 45 },
    };
    const without = loadSegments(syntheticRun(recipe));
    expect(without.findings.map(({ code }) => code)).toContain('close-power-levels');
    const stated = loadSegments(syntheticRun(recipe), { idleBelowW: 36 });
    const measured = loadSegments(
      syntheticRun({ ...recipe, throughputPerS: (powerW) => (powerW > 40 ? 12 : 0) }),
    );
    for (const { segments } of [stated, measured])
      expect(segments.map(({ kind, startIndex }) => [kind, startIndex])).toEqual([
        ['idle', 0],
        ['load', 100],
      ]);
  });

  it('does not split the load at pauses shorter than five seconds', () => {
    const run = syntheticRun({
      durationS: 600,
      powerW: (timeS) => (timeS < 60 || (timeS >= 300 && timeS < 303) ? 15 : 80),
      conditions: { powerCapW: 80 },
    });
    expect(loadSegments(run).segments.map(({ kind }) => kind)).toEqual(['idle', 'load']);
  });

  it('says that a run of idling holds no load where the caller states the threshold', () => {
    const run = syntheticRun({ durationS: 300, powerW: () => 15 });
    const { segments, findings } = loadSegments(run, { idleBelowW: 20 });
    expect(segments.map(({ kind }) => kind)).toEqual(['idle']);
    expect(findings.map(({ code }) => code)).toEqual(['no-load']);
  });

  it('believes a stated temperature limit', () => {
    const run = syntheticRun({ durationS: 900, powerW: () => 100, conditions: { powerCapW: 118 } });
    const { segments } = loadSegments(run, { temperatureLimitC: 72 });
    expect(segments.at(-1)).toMatchObject({ limitedBy: 'temperature' });
    expect(segments.at(-1)!.reason).toMatch(/at the stated limit of 72 °C/);
  });

  it('covers every sample once, in order', () => {
    const run = syntheticRun({
      durationS: 2000,
      powerW: (timeS) => (timeS % 400 < 100 ? 12 : 90),
      powerNoiseW: 3,
      conditions: { powerCapW: 90 },
    });
    const { segments } = loadSegments(run);
    expect(segments[0].startIndex).toBe(0);
    for (let i = 1; i < segments.length; i++) expect(segments[i].startIndex).toBe(segments[i - 1].endIndex);
    expect(segments.at(-1)!.endIndex).toBe(run.timeS.length);
    expect(segments.filter(({ kind }) => kind === 'load')).toHaveLength(5);
  });

  it('refuses what is no run and thresholds that are no numbers', () => {
    const run = syntheticRun({ durationS: 60, powerW: () => 50 });
    expect(() => loadSegments([run] as never)).toThrow(
      /loadSegments: `run` must be one run with at least two samples \(received an array of 1\)/,
    );
    expect(() => loadSegments(run, { idleBelowW: -1 })).toThrow(
      /`options\.idleBelowW` must be a finite number at least 0/,
    );
    expect(() => loadSegments(run, { temperatureLimitC: Number.NaN })).toThrow(
      /`options\.temperatureLimitC` must be a finite number/,
    );
  });
});
