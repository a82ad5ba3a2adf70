import { describe, expect, it } from 'vitest';
import { planNextRuns } from '../../../../toolkit/cap/plan/plan-next-runs.js';
import { PLAN_DEFAULTS } from '../../../../toolkit/cap/plan/plan-options.js';
import { coolerFromSteadyPoints } from '../../../../toolkit/thermal/cooler-from-steady-points.js';
import { fitCooler } from '../../../../toolkit/thermal/fit/fit-cooler.js';
import { noisyRun } from '../../thermal/noisy-cooler.js';

const logged = (cooler: string, powersW: readonly number[], mounts: readonly string[] = []) =>
  fitCooler(
    powersW.map((powerW, i) =>
      noisyRun(20 + i, {
        label: `${cooler} at ${powerW} W, ${i}`,
        powerSteps: [{ atS: 30, powerW }],
        conditions: { ambientC: 22, cooler, ...(mounts[i] === undefined ? {} : { mount: mounts[i] }) },
      }),
    ),
    { stageCount: 2, sensorLag: false },
  );
const tower = logged('tower 88 mm', [60]);
const scenario = { limitC: 85, ambientC: 26, maxCapW: 150 };

describe('planNextRuns', () => {
  it('asks for a second power where the exponent is assumed, and says what that gains in one sentence', () => {
    const plan = planNextRuns(tower, undefined, scenario);
    const [run] = plan.sequence;
    expect(run.powerCapW).toBeGreaterThan(90);
    expect(run.halfWidthAfterW).toBeLessThan(0.5 * run.halfWidthNowW);
    expect(run.gainW).toBeCloseTo(run.halfWidthNowW - run.halfWidthAfterW, 12);
    expect(plan.summary).toMatch(
      /^Log \d+ minutes at \d+ W with 'tower 88 mm': the cap's interval goes from ± \d+\.\d W to ± \d\.\d W\./,
    );
    expect(plan.stop).toBeUndefined();
    expect(JSON.parse(JSON.stringify(plan))).toEqual(plan);
  });

  it('ranks the candidates: as good as the best by time, the others by their gain', () => {
    const { candidates, sequence } = planNextRuns(tower, undefined, scenario);
    expect(candidates[0]).toEqual(sequence[0]);
    const best = Math.max(...candidates.map(({ gainW }) => gainW));
    const asGood = candidates.filter(({ gainW }) => gainW >= 0.95 * best);
    expect(candidates.slice(0, asGood.length)).toEqual(expect.arrayContaining(asGood));
    expect(candidates[0].durationS).toBe(Math.min(...asGood.map(({ durationS }) => durationS)));
    const rest = candidates.slice(asGood.length).map(({ gainW }) => gainW);
    expect(rest).toEqual([...rest].sort((a, b) => b - a));
    expect(new Set(candidates.map(({ durationS }) => durationS))).toEqual(new Set(PLAN_DEFAULTS.durationsS));
  });

  it('proposes no run that would pass the limit where the cooler was logged, nor one above the highest cap', () => {
    const hot = planNextRuns(tower, undefined, { ...scenario, limitC: 60 });
    for (const { expectedTemperatureC } of hot.candidates)
      expect(expectedTemperatureC).toBeLessThanOrEqual(60);
    const held = planNextRuns(tower, undefined, { ...scenario, maxCapW: 100 });
    for (const { powerCapW } of held.candidates) expect(powerCapW).toBeLessThanOrEqual(100);
  });

  it('never promises less than nothing', () => {
    const { candidates } = planNextRuns(tower, undefined, scenario, { powerCapsW: [60], durationsS: [300] });
    expect(candidates).toHaveLength(1);
    expect(candidates[0].gainW).toBeGreaterThanOrEqual(0);
  });

  it('chooses among coolers, each with its own cap', () => {
    const known = logged('loop 140 mm', [60, 100]);
    const plan = planNextRuns([known, tower], undefined, scenario);
    expect(plan.coolers.map(({ cooler }) => cooler)).toEqual(['loop 140 mm', 'tower 88 mm']);
    expect(plan.coolers[0].halfWidthW).toBeLessThan(plan.coolers[1].halfWidthW);
    expect(plan.sequence[0].cooler).toBe('tower 88 mm');
    expect(plan.summary).toContain('the interval of its cap');
  });

  it('goes on run by run, each from what the one before left', () => {
    const { sequence } = planNextRuns(tower, undefined, scenario, {
      wantedHalfWidthW: 0.05,
      leastGainW: 0.01,
    });
    expect(sequence).toHaveLength(3);
    sequence.slice(1).forEach((run, i) => {
      expect(run.halfWidthNowW).toBeCloseTo(sequence[i].halfWidthAfterW, 9);
    });
  });

  it.each<[string, () => ReturnType<typeof planNextRuns>, string, RegExp]>([
    [
      'the wanted width is reached',
      () => planNextRuns(tower, undefined, scenario, { wantedHalfWidthW: 50 }),
      'wanted-width-reached',
      /^Stop logging: the interval of the cap is within ± 50 W already on 'tower 88 mm'\.$/,
    ],
    [
      'the best run gains too little',
      () => planNextRuns(tower, undefined, scenario, { leastGainW: 40 }),
      'gain-too-small',
      /^Stop logging: the best run, \d+ minutes at \d+ W with 'tower 88 mm', is expected to gain [\d.]+ W, less than 40 W\.$/,
    ],
    [
      'the highest cap holds the limit anyway',
      () => planNextRuns(tower, undefined, { ...scenario, maxCapW: undefined, defaultCapW: 65 } as never),
      'limit-does-not-bind',
      /^Stop logging: the highest cap of 65 W holds the limit with room to spare on 'tower 88 mm', so no run changes the cap\.$/,
    ],
    [
      'no run is allowed',
      () => planNextRuns(tower, undefined, scenario, { powerCapsW: [400] }),
      'no-run-allowed',
      /^Stop logging: no cap considered stays below the limit/,
    ],
  ])('says stop where %s', (_, plan, reason, summary) => {
    const { stop, sequence, summary: says } = plan();
    expect(stop?.reason).toBe(reason);
    expect(sequence).toEqual([]);
    expect(says).toMatch(summary);
  });

  it('says what no load run narrows', () => {
    const plan = planNextRuns(tower, undefined, {
      ...scenario,
      ambientC: { low: 18, high: 30 },
      enclosure: { riseK: { mean: 10, standardDeviation: 4 }, atPowerW: 90 },
    });
    expect(plan.coolers[0].placeHalfWidthW).toBeGreaterThan(plan.coolers[0].halfWidthW);
    expect(plan.summary).toMatch(/ Room and enclosure leave ± [\d.]+ W open that no load run narrows\.$/);
    expect(plan.cautions[0]).toMatch(
      /^Room and enclosure leave more open than the cooler does on 'tower 88 mm'/,
    );
  });

  it('says so where a run is beyond every power logged and no highest cap is given', () => {
    const { maxCapW: _, ...without } = scenario;
    const plan = planNextRuns(tower, undefined, without);
    expect(plan.cautions.join(' ')).toMatch(
      /\d+ W is more than was ever logged: give defaultCapW or maxCapW/,
    );
    expect(planNextRuns(tower, undefined, scenario).cautions.join(' ')).not.toContain('ever logged');
  });

  it('considers remounting where the cap shall hold for any mount, and does by itself where mounts were logged', () => {
    const remounted = ({ candidates }: ReturnType<typeof planNextRuns>) =>
      candidates.some((run) => run.remounted);
    expect(remounted(planNextRuns(tower, undefined, scenario))).toBe(false);
    const anyMount = planNextRuns(tower, undefined, scenario, { mounting: 'any-mount', leastGainW: 0.1 });
    expect(remounted(anyMount)).toBe(true);
    const several = planNextRuns(logged('tower 88 mm', [60, 90], ['first', 'second']), undefined, scenario, {
      leastGainW: 0.1,
    });
    expect(several.sequence[0].remounted).toBe(true);
    expect(several.summary).toContain(', mounted again before: ');
    expect(several.assumptions.join(' ')).toContain('% between mounts');
  });

  it('takes the longest duration alone where no time constants are known, and says to wait', () => {
    const averages = coolerFromSteadyPoints([{ powerW: 60, temperatureC: 52, ambientC: 23 }], {
      label: 'flat 58 mm',
    });
    const plan = planNextRuns(averages, undefined, scenario);
    expect(new Set(plan.candidates.map(({ durationS }) => durationS))).toEqual(new Set([1800]));
    expect(plan.cautions.join(' ')).toContain("No time constants are known of 'flat 58 mm'");
  });

  it.each<[string, () => unknown, string]>([
    [
      'no cooler',
      () => planNextRuns([], undefined, scenario),
      'planNextRuns: `coolers` must be one cooler model or more (received an array of 0); log a first run of about 20 minutes at a moderate cap and fit it with fitCooler',
    ],
    [
      'something else among the coolers',
      () => planNextRuns([tower, {} as never], undefined, scenario),
      'planNextRuns: `coolers[1]` must be a cooler-model (received an object); make one with fitCooler or coolerFromSteadyPoints',
    ],
    [
      'a mistyped option',
      () => planNextRuns(tower, undefined, scenario, { duration: [600] } as never),
      'planNextRuns: `options.duration` must be one of powerCapsW, durationsS, sampleIntervalS, mounting, wantedHalfWidthW, leastGainW (received "duration")',
    ],
    [
      'a duration of zero',
      () => planNextRuns(tower, undefined, scenario, { durationsS: [0] }),
      'planNextRuns: `options.durationsS[0]` must be a finite number above 0 (received 0)',
    ],
    [
      'another word for the mounting',
      () => planNextRuns(tower, undefined, scenario, { mounting: 'new' as never }),
      "planNextRuns: `options.mounting` must be 'as-mounted' or 'any-mount' (received \"new\")",
    ],
    [
      'this mount alone for a cooler of several',
      () =>
        planNextRuns(logged('tower 88 mm', [60, 90], ['first', 'second']), undefined, scenario, {
          mounting: 'as-mounted',
        }),
      "planNextRuns: `options.mounting` must be 'any-mount', since 'tower 88 mm' was fitted from several mounts and speaks of the next one (received \"as-mounted\"); fit the runs of one mount alone for a plan of that mount",
    ],
    [
      'a cycle of loads',
      () => planNextRuns(tower, undefined, { ...scenario, dutyCycle: [{ durationS: 60 }] }),
      'planNextRuns: `scenario.dutyCycle` must be left out of a plan (received an array of 1); a plan is for one lasting load on the cooler as it was logged',
    ],
    [
      'a limit below the room',
      () => planNextRuns(tower, undefined, { limitC: 20, ambientC: 26 }),
      'planNextRuns: `scenario.limitC` must be above the room air of 26 °C',
    ],
  ])('refuses %s', (_, call, message) => {
    expect(call).toThrow(message);
  });
});
