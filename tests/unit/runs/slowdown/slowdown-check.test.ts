import { describe, expect, test } from 'vitest';
import { seededRandom } from '../../../../toolkit/numerics/random.js';
import { makeRun } from '../../../../toolkit/runs/make-run.js';
import type { Conditions, Run } from '../../../../toolkit/runs/run.js';
import { checkSlowdown, SLOWDOWN_CHECK_DEFAULTS } from '../../../../toolkit/runs/slowdown/slowdown-check.js';

interface Recipe {
  readonly frequencyMHz: number;
  /** Work per second at this frequency if nothing is lost. */
  readonly workPerS?: (frequencyMHz: number) => number;
  readonly lossFraction?: number;
  readonly runToRun?: number;
  readonly durationS?: number;
  readonly conditions?: Conditions;
  readonly seed?: number;
  readonly columns?: 'both' | 'frequency' | 'throughput';
}

/** A run at a cap: frequency sags a little while it warms up; work scatters by 1 %, half of it slowly (20 s). */
function run(label: string, recipe: Recipe): Run {
  const {
    frequencyMHz,
    lossFraction = 0,
    runToRun = 0,
    durationS = 600,
    seed = 1,
    columns = 'both',
  } = recipe;
  const workPerS = recipe.workPerS ?? ((f: number) => f / 600);
  const random = seededRandom(seed);
  const whole = 1 + runToRun * random.normal();
  const memory = Math.exp(-1 / 20);
  let slow = random.normal();
  const timeS = Array.from({ length: durationS }, (_, i) => i);
  const frequencies = timeS.map(
    (t) => 25 * Math.round((frequencyMHz * (1 + 0.01 * Math.exp(-t / 90)) + 12 * random.normal()) / 25),
  );
  const throughputPerS = frequencies.map((f) => {
    slow = memory * slow + Math.sqrt(1 - memory * memory) * random.normal();
    return workPerS(f * (1 - lossFraction)) * whole * (1 + 0.007 * slow + 0.007 * random.normal());
  });
  return makeRun(
    {
      timeS,
      powerW: timeS.map(() => 95),
      temperatureC: timeS.map((t) => 72 - 40 * Math.exp(-t / 80)),
      ...(columns !== 'throughput' && { frequencyMHz: frequencies }),
      ...(columns !== 'frequency' && { throughputPerS }),
    },
    { label, conditions: { powerCapW: 95, ...recipe.conditions } },
  );
}

describe('common practice, no published source: reports 4050 MHz, works like 3720 MHz', () => {
  const loss = 1 - 3720 / 4050;
  const check = checkSlowdown([
    run('as delivered', { frequencyMHz: 3900, seed: 2 }),
    run('90 mV lower', { frequencyMHz: 4050, lossFraction: loss, seed: 3 }),
  ]);

  test('the case is named plainly', () => {
    expect(check.runs[0].verdict).toBe('loss');
    expect(check.summary).toMatch(
      /^90 mV lower reports 40\d\d MHz, works like 37\d\d MHz: 8\.\d % less work per cycle .*than as delivered\. Its frequency is higher than that of as delivered, its work is less\.$/,
    );
    expect(Math.abs(check.runs[0].effectiveMHz / check.runs[0].reportedMHz - (1 - loss))).toBeLessThan(0.005);
  });

  test('the loss lies in its interval, and the chance of noise is small', () => {
    const { lossFraction, adjustedPValue } = check.runs[0];
    if (lossFraction.kind !== 'estimated') throw new Error('not estimated');
    expect(loss).toBeGreaterThan(lossFraction.interval95[0]);
    expect(loss).toBeLessThan(lossFraction.interval95[1]);
    expect(adjustedPValue).toBeLessThan(1e-6);
  });

  test('the result survives JSON', () => {
    expect(JSON.parse(JSON.stringify(check))).toEqual(check);
  });
});

test('runs that differ by noise alone are called slowed in about one of twenty checks at most', () => {
  let called = 0;
  const checks = 200;
  for (let k = 0; k < checks; k++) {
    const check = checkSlowdown(
      [0, 1, 2].map((n) =>
        run(`run ${n}`, { frequencyMHz: 3900, runToRun: 0.002, durationS: 240, seed: 1000 + 3 * k + n }),
      ),
    );
    if (check.runs.some(({ verdict }) => verdict !== 'no-loss')) called++;
  }
  // Two-sided 5 % over both runs: of 200 checks more than 18 are called with a chance below 1 % (binomial distribution).
  expect(called).toBeLessThanOrEqual(18);
});

test('what would just have been told is stated, and twice that is found', () => {
  const clean = checkSlowdown([
    run('a', { frequencyMHz: 3900, seed: 5 }),
    run('b', { frequencyMHz: 3900, seed: 6 }),
  ]);
  expect(clean.runs[0].verdict).toBe('no-loss');
  const { detectableFraction } = clean.runs[0];
  expect(detectableFraction).toBeGreaterThan(0.004);
  expect(detectableFraction).toBeLessThan(0.02);
  expect(clean.summary).toMatch(
    /^No hidden slowdown: b does the work per cycle of a; a loss of \d\.\d % would have shown\.$/,
  );
  const slowed = checkSlowdown([
    run('a', { frequencyMHz: 3900, seed: 5 }),
    run('b', { frequencyMHz: 3900, lossFraction: 2 * detectableFraction, seed: 6 }),
  ]);
  expect(slowed.runs[0].verdict).toBe('loss');
});

test.each([0.025, 0.03, 0.035, 0.04, 0.045, 0.05, 0.06])(
  'a run at a higher frequency that loses %f of its work never works as it reports',
  (lossFraction) => {
    // From 3900 to 4050 MHz: up to 3.7 % the work still rises, beyond it falls, at first by less than noise.
    const { runs, summary } = checkSlowdown([
      run('as delivered', { frequencyMHz: 3900, seed: 2 }),
      run('lower', { frequencyMHz: 4050, lossFraction, seed: 3 }),
    ]);
    expect(['may-wait', 'loss']).toContain(runs[0].verdict);
    expect(summary).not.toMatch(/No hidden slowdown/);
  },
);

describe('work that waits for memory', () => {
  const workPerS = (f: number): number => 1 / (0.06 + 600 / f);
  const low = run('72 W', { frequencyMHz: 3400, workPerS, seed: 8 });
  const middle = run('95 W', { frequencyMHz: 3700, workPerS, seed: 9 });
  const high = run('118 W', { frequencyMHz: 4000, workPerS, seed: 10 });

  test('is no loss at a higher frequency, but cannot be told from one with a single reference', () => {
    const check = checkSlowdown([low, high]);
    expect(check.runs[0].verdict).toBe('may-wait');
    expect(check.runs[0].sentence).toMatch(/cannot tell the two apart/);
  });

  test('is no loss at a lower frequency either', () => {
    expect(checkSlowdown([high, low]).runs[0].verdict).toBe('no-loss');
  });

  test('two references at different frequencies tell how far it waits', () => {
    const check = checkSlowdown([low, middle, high], { reference: ['72 W', '95 W'] });
    expect(check.runs[0].verdict).toBe('no-loss');
    expect(check.reference.throughputExponent).toBeLessThan(0.9);
    const slowed = run('118 W', { frequencyMHz: 4000, workPerS, lossFraction: 0.08, seed: 10 });
    const found = checkSlowdown([low, middle, slowed], { reference: ['72 W', '95 W'] });
    expect(found.runs[0].verdict).toBe('loss');
  });
});

test('a slowed reference shows as more work in the other run', () => {
  const check = checkSlowdown([
    run('lowered', { frequencyMHz: 4050, lossFraction: 0.08, seed: 3 }),
    run('as delivered', { frequencyMHz: 4050, seed: 2 }),
  ]);
  expect(check.runs[0].verdict).toBe('more-work');
  expect(check.summary).toMatch(/more work per cycle .* the reference may be slowed down/);
});

test('runs without a voltage offset are the reference where others state one', () => {
  const check = checkSlowdown([
    run('lowered', { frequencyMHz: 4050, lossFraction: 0.05, seed: 3, conditions: { voltageOffsetMv: -90 } }),
    run('as delivered', { frequencyMHz: 3900, seed: 2 }),
  ]);
  expect(check.reference.labels).toEqual(['as delivered']);
  expect(check.runs.map(({ label, verdict }) => [label, verdict])).toEqual([['lowered', 'loss']]);
});

test('a run without throughput is left out and named', () => {
  const check = checkSlowdown([
    run('a', { frequencyMHz: 3900, seed: 2 }),
    run('b', { frequencyMHz: 3900, seed: 3 }),
    run('silent', { frequencyMHz: 3900, seed: 4, columns: 'frequency' }),
  ]);
  expect(check.findings.map(({ code, message }) => [code, message])).toEqual([
    ['not-compared', 'Run silent has no throughput column and was not compared.'],
  ]);
});

test('a slowdown that sets in while a run warms up is a finding, also in the reference', () => {
  const steady = run('steady', { frequencyMHz: 3900, seed: 2 });
  const sagging = run('sagging', { frequencyMHz: 3900, seed: 3 });
  const sagged = makeRun(
    {
      timeS: sagging.timeS,
      powerW: sagging.powerW,
      temperatureC: sagging.temperatureC,
      frequencyMHz: sagging.frequencyMHz!,
      throughputPerS: sagging.throughputPerS!.map((work, i) => work * (1 - (0.05 * i) / 600)),
    },
    { label: 'sagging', conditions: sagging.conditions },
  );
  for (const runs of [
    [steady, sagged],
    [sagged, steady],
  ]) {
    const found = checkSlowdown(runs).findings;
    expect(found.map(({ code }) => code)).toEqual(['work-falls-within-run']);
    expect(found[0].message).toMatch(/In run sagging the work per cycle falls by [45]\.\d %/);
  }
  expect(checkSlowdown([steady, sagging]).findings).toEqual([]);
});

test('the defaults are those of the documentation', () => {
  expect(SLOWDOWN_CHECK_DEFAULTS).toEqual({ runToRunFraction: 0.002 });
});

describe('bad input', () => {
  const a = run('as delivered', { frequencyMHz: 3900, seed: 2 });
  const b = run('lowered', { frequencyMHz: 4000, seed: 3 });

  test('one run alone, or no throughput', () => {
    expect(() => checkSlowdown([a])).toThrow(
      /checkSlowdown: `runs` must be a reference and at least one other run, .*\(received "as delivered"\); log work done per second/,
    );
    const silent = run('silent', { frequencyMHz: 3900, columns: 'frequency' });
    expect(() => checkSlowdown([silent, silent])).toThrow(/received "none"/);
  });

  test('two runs of one label, which nothing could be said of', () => {
    expect(() => checkSlowdown([a, a])).toThrow(
      /checkSlowdown: `runs` must be told apart by their labels .*'as delivered' twice.*give each run a label of its own/,
    );
  });

  test('a reference that is not there', () => {
    expect(() => checkSlowdown([a, b], { reference: 'as deliverd' })).toThrow(
      /checkSlowdown: `options\.reference` must be the label of one of the runs .*did you mean as delivered\?/,
    );
  });

  test('different workloads or processors', () => {
    const other = run('other', { frequencyMHz: 3900, conditions: { workload: 'sorting' } });
    const cues = run('cues', { frequencyMHz: 3900, conditions: { workload: 'cues' } });
    expect(() => checkSlowdown([other, cues])).toThrow(/`runs` must be runs of one workload .*sorting, cues/);
    const p = run('p', { frequencyMHz: 3900, conditions: { processor: 'one' } });
    const q = run('q', { frequencyMHz: 3900, conditions: { processor: 'two' } });
    expect(() => checkSlowdown([p, q])).toThrow(/`runs` must be runs of one processor/);
  });

  test('options outside their domain', () => {
    expect(() => checkSlowdown([a, b], { runToRunFraction: 2 })).toThrow(
      /`options\.runToRunFraction` must be a finite number at least 0 and below 0\.2 .*0\.002 for 0\.2 %/,
    );
    expect(() => checkSlowdown([a, b], { refrence: 'x' } as never)).toThrow(/did you mean reference\?/);
    expect(() => checkSlowdown('runs' as never)).toThrow(/`runs` must be one run or an array of runs/);
    expect(() => checkSlowdown([])).toThrow(
      /checkSlowdown: `runs` must be two runs or more: a reference and the run in doubt \(received an array of 0\)/,
    );
  });
});
