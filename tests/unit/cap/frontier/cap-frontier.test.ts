import { describe, expect, it } from 'vitest';
import { chooseCap } from '../../../../toolkit/cap/choose/choose-cap.js';
import { CAP_FRONTIER_DEFAULTS, capFrontier } from '../../../../toolkit/cap/frontier/cap-frontier.js';
import { kneeOf } from '../../../../toolkit/cap/frontier/knee.js';
import { requireValue } from '../../../../toolkit/numerics/estimates.js';
import { coolerFromSteadyPoints } from '../../../../toolkit/thermal/cooler-from-steady-points.js';
import { fitFanCurve } from '../../../../toolkit/thermal/fan-curve.js';
import { plainCooler } from '../plain-cooler.js';
import { plainCurve } from '../plain-curve.js';
import { workedCurve } from '../worked-curve.js';

const uncertain = plainCooler({
  resistanceStandardErrorKPerW: 0.01,
  powerExponent: 0.03,
  exponentStandardError: 0.01,
});
const scenario = { limitC: 80, ambientC: { low: 20, high: 26 }, maxCapW: 120 };

describe('capFrontier', () => {
  it('stands on the same answers as chooseCap, cap by cap', () => {
    const frontier = capFrontier(uncertain, plainCurve(), scenario);
    const choice = chooseCap(uncertain, plainCurve(), scenario);
    expect(frontier.highestAllowedW).toBe(choice.powerCapW);
    const at = frontier.points.find(({ powerCapW }) => powerCapW === choice.powerCapW)!;
    expect(at.frequencyMHz).toEqual(choice.frequencyMHz);
    const chance = choice.neighbours.find(({ powerCapW }) => powerCapW === choice.powerCapW)!;
    expect(at.chanceOfPassingLimit).toBe(chance.chanceOfPassingLimit);
    expect(requireValue(at.temperatureC)).toBeCloseTo(requireValue(choice.steadyTemperatureC), 6);
    // The band is from an eighth of the draws: within a tenth of its width.
    const [band, whole] = [at.temperatureC, choice.steadyTemperatureC].map((estimate) =>
      estimate.kind === 'estimated' ? estimate.interval95 : [0, 0],
    );
    for (const end of [0, 1])
      expect(Math.abs(band[end] - whole[end])).toBeLessThan(0.1 * (whole[1] - whole[0]));
  });

  it('gives the closed form of a cooler and a curve without uncertainty', () => {
    const { points } = capFrontier(plainCooler(), plainCurve(), { limitC: 80, ambientC: 22, maxCapW: 120 });
    for (const { powerCapW, temperatureC, frequencyMHz, allowed } of points) {
      expect(requireValue(temperatureC)).toBeCloseTo(22 + 0.5 * powerCapW, 9);
      expect(requireValue(frequencyMHz)).toBeCloseTo(3600 * (powerCapW / 90) ** 0.25, 6);
      expect(allowed).toBe(powerCapW <= 116);
    }
  });

  it('finds the knee of a power law where its slope is that of the chord (closed form)', () => {
    const frontier = capFrontier(
      plainCooler(),
      plainCurve(),
      { limitC: 100, ambientC: 22, maxCapW: 120, stepW: 0.5 },
      {
        capCount: 1000,
      },
    );
    const [low, high] = [frontier.points[0].powerCapW, frontier.points.at(-1)!.powerCapW];
    // d(P^0.25)/dP = (high^0.25 − low^0.25)/(high − low).
    const slope = (high ** 0.25 - low ** 0.25) / (high - low);
    const kneeW = (slope / 0.25) ** (1 / (0.25 - 1));
    expect(Math.abs(frontier.knee!.powerCapW - kneeW)).toBeLessThanOrEqual(0.5);
    expect(frontier.knee!.of).toBe('frequency');
    expect(frontier.knee!.flatRangeW[0]).toBeLessThan(kneeW);
    expect(frontier.knee!.flatRangeW[1]).toBeGreaterThan(kneeW);
    expect(frontier.summary).toMatch(
      /The knee of the frequency is at [\d.]+ W: \d+ % of that at 120 W, and \d+ K cooler/,
    );
  });

  it('holds throughput and work per watt-hour where the curve knows them, and takes the knee of the throughput', () => {
    const frontier = capFrontier(uncertain, workedCurve(), {
      ...scenario,
      supply: { restOfMachineW: 30, efficiencyFraction: 0.9 },
    });
    const { points, knee } = frontier;
    expect(knee?.of ?? 'throughput').toBe('throughput');
    for (const { throughputPerS, workPerWh, supplyPowerW, powerCapW } of points) {
      expect(supplyPowerW).toBeCloseTo((powerCapW + 30) / 0.9, 9);
      expect(requireValue(workPerWh)).toBeCloseTo((3600 * requireValue(throughputPerS)) / supplyPowerW!, 6);
    }
    const allowed = points.filter((point) => point.allowed);
    const best = allowed.reduce((a, b) => (requireValue(b.workPerWh) > requireValue(a.workPerWh) ? b : a));
    expect(frontier.mostEfficientW).toBe(best.powerCapW);
    const values = points.map(({ throughputPerS }) => requireValue(throughputPerS));
    const bare = kneeOf(
      points.map(({ powerCapW }) => powerCapW),
      values,
    );
    if (knee !== undefined) expect(points[bare!.index].powerCapW).toBe(knee.powerCapW);
  });

  it('gives every cap the slowest fan that holds it, and its sound', () => {
    const at = (fanSpeedRpm: number, temperatureC: number) =>
      coolerFromSteadyPoints([{ powerW: 80, temperatureC, ambientC: 24 }], {
        fanSpeedRpm,
        temperatureUncertaintyK: 0.1,
      });
    const curve = fitFanCurve([at(1000, 74), at(1500, 66.7), at(2200, 62)]);
    const frontier = capFrontier(at(1500, 66.7), plainCurve(), {
      limitC: 80,
      ambientC: 24,
      maxCapW: 110,
      fan: { curve, sound: { soundLevelDb: 30, fanSpeedRpm: 1500 } },
    });
    const allowed = frontier.points.filter((point) => point.allowed);
    expect(allowed.length).toBeGreaterThan(20);
    expect(allowed[0].fanSpeedRpm).toBe(1000);
    allowed.slice(1).forEach((point, i) => {
      expect(point.fanSpeedRpm!).toBeGreaterThanOrEqual(allowed[i].fanSpeedRpm!);
      expect(point.soundLevelDb!).toBeCloseTo(30 + 50 * Math.log10(point.fanSpeedRpm! / 1500), 9);
      expect(point.chanceOfPassingLimit).toBeLessThanOrEqual(0.05);
    });
  });

  it('marks a cap that does no more work than a lower one', () => {
    // A curve that falls again: reported by hand, as memory-bound work with a slowdown would.
    const falling = plainCurve({ parameters: { ...plainCurve().parameters, powerExponent: -0.1 } });
    const { points } = capFrontier(plainCooler(), falling, { limitC: 100, ambientC: 22, maxCapW: 120 });
    expect(points[0].dominated).toBe(false);
    expect(points.slice(1).every(({ dominated }) => dominated)).toBe(true);
    expect(capFrontier(plainCooler(), plainCurve(), scenario).points.some(({ dominated }) => dominated)).toBe(
      false,
    );
  });

  it('shows temperatures alone without a curve, and says so', () => {
    const frontier = capFrontier(uncertain, undefined, scenario);
    expect(frontier.points[0].frequencyMHz).toEqual({ kind: 'unavailable', reason: 'not-identifiable' });
    expect(frontier.knee).toBeUndefined();
    expect(frontier.mostEfficientW).toBeUndefined();
    expect(frontier.summary).toContain('What the caps bring is not known: no curve tells it.');
  });

  it('says why no cap is allowed', () => {
    const frontier = capFrontier(uncertain, undefined, { ...scenario, limitC: 35 });
    expect(frontier.highestAllowedW).toBeUndefined();
    expect(frontier.summary).toMatch(
      /^No cap from 30 to 120 W is allowed under 'flat 58 mm' \(the temperature exceeds the limit\)\./,
    );
  });

  it('shows at most as many caps as asked for, evenly over settable ones, and survives JSON', () => {
    const frontier = capFrontier(uncertain, plainCurve(), { ...scenario, stepW: 0.25 });
    expect(frontier.points).toHaveLength(CAP_FRONTIER_DEFAULTS.capCount);
    for (const { powerCapW } of frontier.points) expect((powerCapW / 0.25) % 1).toBe(0);
    const few = capFrontier(uncertain, plainCurve(), scenario, {
      capCount: 5,
      lowestCapW: 60,
      highestCapW: 100,
    });
    expect(few.points.map(({ powerCapW }) => powerCapW)).toEqual([60, 70, 80, 90, 100]);
    expect(JSON.parse(JSON.stringify(frontier))).toEqual(frontier);
    expect(capFrontier(uncertain, plainCurve(), { ...scenario, stepW: 0.25 })).toEqual(frontier);
  });

  it('cautions of what it cannot carry', () => {
    const other = plainCurve({ processor: 'another' });
    const cautions = capFrontier({ ...uncertain, processor: 'twelve-core' }, other, scenario).cautions.join(
      ' ',
    );
    expect(cautions).toContain("logged on 'twelve-core', the power curve on 'another'");
    expect(cautions).toMatch(
      /Extrapolated: \d+ of the \d+ caps lie outside the powers logged \(cooler: 60 to 120 W/,
    );
    expect(cautions).toContain('Open bench');
    expect(cautions).toContain('The knee is a matter of convention');
  });

  it.each<[string, () => unknown, string]>([
    [
      'a cap beyond what the data carry',
      () => capFrontier(uncertain, undefined, scenario, { highestCapW: 900 }),
      'capFrontier: `options.highestCapW` must be a finite number at least 15 and at most 480 (received 900); the cooler was logged at 60 to 120 W; log a run at about that power',
    ],
    [
      'too few caps',
      () => capFrontier(uncertain, undefined, scenario, { capCount: 2 }),
      'capFrontier: `options.capCount` must be a whole number from 3 to 1000 (received 2)',
    ],
    [
      'an empty range',
      () => capFrontier(uncertain, undefined, scenario, { lowestCapW: 100, highestCapW: 90 }),
      'capFrontier: `options` must be a range of caps with at least three steps of 1 W (received "100 to 90 W"); give lowestCapW, highestCapW or a finer scenario.stepW',
    ],
    [
      'a mistyped option',
      () => capFrontier(uncertain, undefined, scenario, { caps: 50 } as never),
      'capFrontier: `options.caps` must be one of capCount, lowestCapW, highestCapW (received "caps")',
    ],
    [
      'something that is no cooler',
      () => capFrontier({} as never, undefined, scenario),
      'capFrontier: `cooler` must be a cooler-model (received an object)',
    ],
  ])('refuses %s', (_, call, message) => {
    expect(call).toThrow(message);
  });
});
