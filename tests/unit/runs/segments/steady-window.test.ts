import { describe, expect, it } from 'vitest';
import { makeRun } from '../../../../toolkit/runs/make-run.js';
import { STEADY_WINDOW_DEFAULTS, steadyWindow } from '../../../../toolkit/runs/segments/steady-window.js';
import { seededNormal, syntheticRun } from '../synthetic-run.js';

/** Load from 60 s to 60 s + loadS at 80 W, then idle for `restS`; settles at 62 °C with 22 °C air. */
function loadRun(
  loadS: number,
  options: { timeConstantS?: number; noiseK?: number; restS?: number; seed?: number } = {},
) {
  return syntheticRun({
    durationS: 59 + loadS + (options.restS ?? 0),
    powerW: (timeS) => (timeS >= 60 && timeS < 60 + loadS ? 80 : 15),
    powerNoiseW: 0.5,
    temperatureNoiseK: options.noiseK ?? 0.3,
    timeConstantS: options.timeConstantS ?? 60,
    logAmbient: true,
    frequencyMHz: (powerW) => 3000 + 8 * powerW,
    seed: options.seed ?? 1,
    conditions: { powerCapW: 80 },
  });
}

describe('steadyWindow', () => {
  it('finds the settled end of a long load, its means and their errors', () => {
    const end = steadyWindow(loadRun(1200));
    expect(end.verdict).toBe('steady');
    expect(end.reason).toMatch(
      /the rise above the air drifts by .* K\/min \(95 %\), within the limit of 0\.1 K\/min/,
    );
    expect([end.startS, end.endS, end.endIndex - end.startIndex]).toEqual([1140, 1259, 120]);
    // White noise of 0.3 K over 120 samples: standard error 0.027 K; the estimate of it is good to a third or so.
    expect(end.temperatureC.standardError).toBeGreaterThan(0.018);
    expect(end.temperatureC.standardError).toBeLessThan(0.055);
    expect(Math.abs(end.temperatureC.mean - 62)).toBeLessThan(4 * 0.03);
    expect(Math.abs(end.temperatureRiseK!.mean - 40)).toBeLessThan(4 * 0.03);
    expect(Math.abs(end.powerW.mean - 80)).toBeLessThan(4 * 0.05);
    expect(end.frequencyMHz!.mean).toBeCloseTo(3640, 6);
    expect(end).toMatchObject({ limitedBy: 'cap', driftOf: 'temperature-rise', findings: [] });
  });

  it('states no interval for a mean that rests on hardly any independent sample, and says so', () => {
    // Two minutes within one slow wave of 0.05 K: the samples are a hundred, what they tell apart is two or three.
    const run = loadRun(1200, { noiseK: 0.001 });
    const wave = makeRun(
      {
        timeS: run.timeS,
        temperatureC: Array.from(run.timeS, (t, i) => run.temperatureC[i] + 0.05 * Math.sin(t / 30)),
        powerW: run.powerW,
        ambientC: run.ambientC!,
      },
      { label: 'wave', conditions: run.conditions },
    );
    const end = steadyWindow(wave);
    expect(end.verdict).toBe('steady');
    expect(end.temperatureC.effectiveSampleCount).toBeLessThan(5);
    expect(end.temperatureC.estimate).toEqual({
      kind: 'unavailable',
      reason: 'too-few-points',
      value: end.temperatureC.mean,
    });
    expect(end.powerW.estimate.kind).toBe('estimated');
    expect(end.findings).toMatchObject([
      {
        code: 'few-independent-samples',
        severity: 'note',
        message: expect.stringMatching(
          /fewer than 5 independent ones of temperature.*too few for an interval/,
        ),
        remedy: 'log longer, and average over a longer window',
      },
    ]);
  });

  it('looks at the end of the load, not at the cool-down after it', () => {
    const end = steadyWindow(loadRun(1200, { restS: 300 }));
    expect(end).toMatchObject({ verdict: 'steady', startS: 1140, endS: 1259 });
  });

  it('is not misled by a few seconds of idling at the end of the log', () => {
    const end = steadyWindow(loadRun(1200, { restS: 3 }));
    expect(end).toMatchObject({ verdict: 'steady', endS: 1259 });
  });

  it('sees a heat sink that is still warming, with the drift it must have', () => {
    // Five minutes of load on a time constant of 300 s: dT/dt = 65 W · 0.35 K/W · e^(−t/τ)/τ.
    const end = steadyWindow(loadRun(360, { timeConstantS: 300 }));
    const slopeKPerMin = (60 * 22.75 * Math.exp(-300 / 300)) / 300;
    expect(end.verdict).toBe('drifting');
    expect(end.driftKPerMin.kind).toBe('estimated');
    if (end.driftKPerMin.kind !== 'estimated') return;
    const [low, high] = end.driftKPerMin.interval95;
    expect(low).toBeLessThan(slopeKPerMin);
    expect(high).toBeGreaterThan(slopeKPerMin);
    expect(end.findings.map(({ code }) => code)).toEqual(['not-steady']);
    expect(end.findings[0].remedy).toMatch(/log a longer run/);
  });

  it('calls a significant but tiny drift steady, and lets the caller be stricter', () => {
    const timeS = Array.from({ length: 1200 }, (_, i) => i);
    const noise = seededNormal(5);
    const run = makeRun(
      {
        timeS,
        temperatureC: timeS.map((t) => 60 + (0.05 / 60) * t + 0.02 * noise()),
        powerW: timeS.map(() => 65),
      },
      { label: 'tiny', conditions: { powerCapW: 65 } },
    );
    const end = steadyWindow(run);
    expect(end.driftKPerMin.kind === 'estimated' && end.driftKPerMin.interval95[0] > 0).toBe(true);
    expect(end.verdict).toBe('steady');
    expect(steadyWindow(run, { driftLimitKPerMin: 0.02 }).verdict).toBe('drifting');
  });

  it('says too short where the load is shorter than the window, holds few samples, or is too noisy', () => {
    expect(steadyWindow(loadRun(90))).toMatchObject({ verdict: 'too-short' });
    expect(steadyWindow(loadRun(90)).reason).toBe('the load lasts 90 s, shorter than the window of 120 s');
    const sparse = syntheticRun({ durationS: 1200, intervalS: 10, powerW: () => 80 });
    expect(steadyWindow(sparse).reason).toMatch(/the window holds 12 samples, fewer than the 20/);
    const noisy = steadyWindow(loadRun(1200, { noiseK: 6 }));
    expect(noisy.verdict).toBe('too-short');
    expect(noisy.reason).toMatch(/too uncertain to hold against the limit/);
    expect(noisy.findings.map(({ code }) => code)).toContain('steadiness-unknown');
  });

  it('takes exactly one window of load for long enough', () => {
    expect(steadyWindow(loadRun(120, { timeConstantS: 0.3 })).verdict).toBe('steady');
  });

  it('judges the rise where the air was measured, so that a warming room does not count', () => {
    const timeS = Array.from({ length: 900 }, (_, i) => i);
    const noise = seededNormal(9);
    const ambientC = timeS.map((t) => 20 + (0.5 / 60) * t);
    const columns = {
      timeS,
      powerW: timeS.map(() => 65),
      temperatureC: ambientC.map((air) => air + 40 + 0.1 * noise()),
    };
    const conditions = { powerCapW: 65 };
    const end = steadyWindow(makeRun({ ...columns, ambientC }, { label: 'x', conditions }));
    expect(end.verdict).toBe('steady');
    expect(end.findings.map(({ code }) => code)).toEqual(['air-drifting', 'few-independent-samples']);
    expect(steadyWindow(makeRun(columns, { label: 'x', conditions })).verdict).toBe('drifting');
  });

  it('gives the rise above stated air, and none without any', () => {
    const columns = { timeS: [0, 1, 2], temperatureC: [60, 61, 62], powerW: [50, 50, 50] };
    const stated = steadyWindow(makeRun(columns, { label: 'x', conditions: { ambientC: 21 } }));
    expect(stated.temperatureRiseK?.mean).toBeCloseTo(40, 12);
    expect(stated.driftOf).toBe('temperature');
    expect('temperatureRiseK' in steadyWindow(makeRun(columns, { label: 'x' }))).toBe(false);
  });

  it('does not take a coarse sensor that stands still for more certain than it is', () => {
    const run = loadRun(1200, { noiseK: 0.05 });
    const noise = seededNormal(21);
    const coarse = makeRun(
      {
        ...run,
        temperatureC: run.temperatureC.map((value) => Math.round(value)),
        // A quiet, fine thermometer beside it must not make the coarse one look certain.
        ambientC: run.timeS.map(() => 22 + 0.01 * noise()),
      },
      { label: 'x', conditions: run.conditions },
    );
    // Two equal readings in steps of 1 K may be 0.78 K apart: 0.39 K/min over 2 min, 0.16 K/min over 5 min.
    expect(steadyWindow(coarse)).toMatchObject({ verdict: 'too-short' });
    const end = steadyWindow(coarse, { windowS: 300 });
    expect(end.verdict).toBe('steady');
    expect(end.reason).toMatch(/the rise above the air drifts by .* ± 0\.16 K\/min/);
    expect(end.temperatureC.mean).toBe(62);
    // A step of 1 K leaves 1/√12 K.
    expect(end.temperatureC.standardError).toBeCloseTo(0.2887, 3);
  });

  it('reports gaps, drifting power and a change of what holds the load inside the window', () => {
    const run = loadRun(1200);
    const kept = [...run.timeS.keys()].filter((i) => !(i > 1150 && i < 1170));
    const pick = (values: Float64Array) => kept.map((i) => values[i]);
    const gappy = makeRun(
      { timeS: pick(run.timeS), temperatureC: pick(run.temperatureC), powerW: pick(run.powerW) },
      { label: 'x', conditions: run.conditions },
    );
    expect(steadyWindow(gappy).findings.map(({ code }) => code)).toContain('gap-in-window');
    const sagging = makeRun(
      { ...run, powerW: run.powerW.map((value, i) => (i > 1140 ? value - 0.03 * (i - 1140) : value)) },
      { label: 'x', conditions: run.conditions },
    );
    const codes = steadyWindow(sagging).findings.map(({ code }) => code);
    expect(codes).toContain('power-drifting');
    expect(codes).toContain('limit-changes');
  });

  it('keeps its documented defaults', () => {
    expect(STEADY_WINDOW_DEFAULTS).toEqual({ windowS: 120, driftLimitKPerMin: 0.1 });
  });

  it('refuses windows and limits that are not positive, and runs without load', () => {
    const run = loadRun(300);
    expect(() => steadyWindow(run, { windowS: 0 })).toThrow(
      /steadyWindow: `options\.windowS` must be a finite number above 0 \(received 0\)/,
    );
    expect(() => steadyWindow(run, { driftLimitKPerMin: Number.NaN })).toThrow(
      /`options\.driftLimitKPerMin` must be a finite number above 0/,
    );
    expect(() => steadyWindow(run, { idleBelowW: 500 })).toThrow(
      /`run` must be a run with load in it .*only idles.*lower idleBelowW/,
    );
  });
});
