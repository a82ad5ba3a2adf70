import { describe, expect, test } from 'vitest';
import type { CapScenario } from '../../../../toolkit/cap/choose/cap-choice.js';
import { chooseCap } from '../../../../toolkit/cap/choose/choose-cap.js';
import { NumericalError } from '../../../../toolkit/errors.js';
import type { EstimatedNumber } from '../../../../toolkit/numerics/estimate.js';
import { plainCooler } from '../plain-cooler.js';
import { plainCurve } from '../plain-curve.js';

const spread = {
  resistanceStandardErrorKPerW: 0.01,
  powerExponent: 0.03,
  exponentStandardError: 0.02,
  correlation: 0.3,
  degreesOfFreedom: 9,
};
const drawer: CapScenario = {
  limitC: 85,
  ambientC: { low: 22, high: 30 },
  enclosure: { riseK: { mean: 9, standardDeviation: 1 } },
  defaultCapW: 118,
};
const known = (estimate: unknown): EstimatedNumber => {
  expect(estimate).toMatchObject({ kind: 'estimated' });
  return estimate as EstimatedNumber;
};

describe('the cap', () => {
  test('with nothing uncertain is (limit − ambient − rise) / R', () => {
    const choice = chooseCap(plainCooler(), plainCurve(), {
      limitC: 85,
      ambientC: 25,
      enclosure: { riseK: 10 },
    });
    expect(choice.powerCapW).toBe(100);
    expect(choice.unroundedCapW).toBeCloseTo(100, 9);
    expect(known(choice.steadyTemperatureC).value).toBeCloseTo(85, 9);
    expect(choice.bindingConstraint).toBe('temperature');
  });

  test('with a rise that scales with power is (limit − ambient) / (R + rise / power)', () => {
    const enclosure = { riseK: 10, atPowerW: 80 };
    const choice = chooseCap(plainCooler(), plainCurve(), { limitC: 85, ambientC: 25, enclosure });
    expect(choice.unroundedCapW).toBeCloseTo(60 / (0.5 + 10 / 80), 9);
  });

  test('solves the law with an exponent and a scaling rise so that the temperature is the limit', () => {
    const cooler = plainCooler({ powerExponent: 0.2 });
    const enclosure = { riseK: 12, atPowerW: 100 };
    const { unroundedCapW: p } = chooseCap(cooler, plainCurve(), { limitC: 95, ambientC: 20, enclosure });
    expect(20 + (12 * p) / 100 + 0.5 * (p / 80) ** -0.2 * p).toBeCloseTo(95, 9);
  });

  test('is lower by the peak above the mean where the limit applies to the peaks', () => {
    const scenario = { limitC: 85, ambientC: 25, limitAppliesTo: 'peak' } as const;
    expect(chooseCap(plainCooler(), plainCurve(), scenario).unroundedCapW).toBeCloseTo(
      (85 - 3 - 25) / 0.5,
      9,
    );
  });

  test('falls with confidence and is the same to the last digit for the same seed', () => {
    const cooler = plainCooler(spread);
    const caps = [0.5, 0.8, 0.95, 0.99].map(
      (confidence) => chooseCap(cooler, plainCurve(), { ...drawer, confidence }).unroundedCapW,
    );
    expect(caps).toEqual([...caps].sort((a, b) => b - a));
    expect(new Set(caps).size).toBe(4);
    const again = chooseCap(cooler, plainCurve(), { ...drawer, seed: 7 });
    chooseCap(cooler, plainCurve(), { ...drawer, seed: 8 });
    expect(chooseCap(cooler, plainCurve(), { ...drawer, seed: 7 })).toEqual(again);
  });

  test('hardly depends on the seed: quasi-random draws', () => {
    const caps = [1, 2, 3, 4, 5, 6].map(
      (seed) => chooseCap(plainCooler(spread), plainCurve(), { ...drawer, seed }).unroundedCapW,
    );
    // Plain random draws of this size would scatter by 0.1 W.
    expect(Math.max(...caps) - Math.min(...caps)).toBeLessThan(0.15);
  });

  test('never passes the maker’s default cap, unless a higher cap is allowed, and then says so', () => {
    const cool = { limitC: 95, ambientC: 20, defaultCapW: 118 };
    const kept = chooseCap(plainCooler(), plainCurve(), cool);
    expect(kept).toMatchObject({ powerCapW: 118, bindingConstraint: 'default-cap' });
    expect(kept.unroundedCapW).toBeCloseTo(150, 9);
    expect(kept.summary).toMatch(/^The default cap of 118 W can stay\./);
    expect(known(kept.cost?.frequencyLossMHz).value).toBe(0);
    const raised = chooseCap(plainCooler(), plainCurve(), { ...cool, maxCapW: 130 });
    expect(raised).toMatchObject({ powerCapW: 130, bindingConstraint: 'max-cap' });
    expect(raised.cautions.join(' ')).toMatch(/above the maker's default of 118 W/);
    expect(chooseCap(plainCooler(), plainCurve(), { ...cool, stepW: 5 })).toMatchObject({ powerCapW: 115 });
  });

  test('without a highest or a default cap never passes the highest power logged, and says what to give', () => {
    const cool = { limitC: 95, ambientC: 20 }; // the temperature alone would permit 150 W
    const logged = chooseCap(plainCooler(), plainCurve(), { ...cool, stepW: 7 });
    expect(logged).toMatchObject({ powerCapW: 119, bindingConstraint: 'tested-range', extrapolated: false });
    expect(logged.unroundedCapW).toBeCloseTo(150, 9);
    expect(logged.summary).toMatch(
      /^Set the cap to 119 W, the highest step within the powers logged\. The temperature would permit more: give `defaultCapW` or `maxCapW`/,
    );
    expect(logged.cautions.join('\n')).toMatch(
      /^The cap stops at the highest power logged, 120 W, .* more may be possible: .*\(`defaultCapW` or `maxCapW`\)\.$/m,
    );
    for (const given of [{ defaultCapW: 142 }, { maxCapW: 142 }]) {
      const allowed = chooseCap(plainCooler(), plainCurve(), { ...cool, ...given });
      expect(allowed.powerCapW).toBe(142);
      expect(allowed.cautions.join('\n')).not.toMatch(/highest power logged/);
    }
    // Below it, the temperature decides as ever.
    const warm = chooseCap(plainCooler(), plainCurve(), { limitC: 85, ambientC: 30 });
    expect(warm).toMatchObject({ powerCapW: 110, bindingConstraint: 'temperature' });
  });

  test('takes the curve for what was logged, unless it is of another processor', () => {
    const cool = { limitC: 95, ambientC: 20 };
    const testedRange = { ...plainCooler().testedRange, powerW: [60, 100] } as const;
    const cooler = plainCooler({}, { testedRange, processor: 'a' });
    const capWith = (curve: ReturnType<typeof plainCurve> | undefined) =>
      chooseCap(cooler, curve, cool).powerCapW;
    expect(capWith(plainCurve({ processor: 'a' }))).toBe(120);
    expect(capWith(plainCurve())).toBe(120);
    expect(capWith(plainCurve({ processor: 'b' }))).toBe(100);
    expect(capWith(undefined)).toBe(100);
  });

  test('models and scenario are left as they were', () => {
    const [cooler, curve, scenario] = [plainCooler(spread), plainCurve(), structuredClone(drawer)];
    const before = structuredClone([cooler, curve, scenario]);
    chooseCap(cooler, curve, scenario);
    expect([cooler, curve, scenario]).toEqual(before);
  });

  test('survives JSON', () => {
    const choice = chooseCap(plainCooler(spread), plainCurve(), drawer);
    expect(JSON.parse(JSON.stringify(choice))).toEqual(choice);
  });
});

describe('data that cannot carry a cap', () => {
  test('an unavailable resistance is refused with what to log', () => {
    const cooler = plainCooler(
      {},
      { thermalResistanceKPerW: { kind: 'unavailable', reason: 'not-identifiable' } },
    );
    expect(() => chooseCap(cooler, plainCurve(), drawer)).toThrow(NumericalError);
    expect(() => chooseCap(cooler, plainCurve(), drawer)).toThrow(
      /resistance of 'flat 58 mm' is not known \(the data do not determine it\).*log the room air/,
    );
  });

  test('a resistance whose interval reaches 0 is refused with its numbers', () => {
    const cooler = plainCooler({ resistanceStandardErrorKPerW: 0.2, degreesOfFreedom: 3 });
    expect(() => chooseCap(cooler, plainCurve(), drawer)).toThrow(
      /0\.500 ± 0\.64 K\/W \(95 %\), which includes 0/,
    );
  });

  test('a broken resistance law is refused', () => {
    expect(() => chooseCap(plainCooler({ degreesOfFreedom: 0 }), plainCurve(), drawer)).toThrow(
      /`cooler.resistanceLaw.degreesOfFreedom` must be a finite number above 0/,
    );
  });

  test('no cap that holds: by how much, and ways out that do hold', () => {
    const cooler = plainCooler(spread);
    const scenario = { ...drawer, minCapW: 105 };
    expect(() => chooseCap(cooler, plainCurve(), scenario)).toThrow(NumericalError);
    let message = '';
    try {
      chooseCap(cooler, plainCurve(), scenario);
    } catch (failure) {
      message = (failure as Error).message;
    }
    const numbers =
      /no cap from 105 W up holds 85 °C with 95 % confidence on 'flat 58 mm': the largest that does is ([\d.]+) W, ([\d.]+) W short; .*a limit of ([\d.]+) °C, room air ([\d.]+) K cooler, a lowest cap of (\d+) W, a confidence of ([\d.]+), or a better cooler/.exec(
        message,
      );
    expect(numbers).not.toBeNull();
    const [largestW, shortW, limitC, coolerK, minCapW, confidence] = numbers!.slice(1).map(Number);
    expect(largestW + shortW).toBeCloseTo(105, 6);
    const ways: Partial<CapScenario>[] = [
      { limitC: limitC },
      { ambientC: { low: 22 - coolerK, high: 30 - coolerK } },
      { minCapW: minCapW },
      { confidence: confidence },
    ];
    for (const way of ways)
      expect(chooseCap(cooler, plainCurve(), { ...scenario, ...way }).powerCapW).toBeGreaterThanOrEqual(
        way.minCapW ?? 105,
      );
  });

  test('a step above the largest cap is to be finer; limits far from any are not suggested', () => {
    const coarse = { limitC: 85, ambientC: 25, stepW: 500 };
    expect(() => chooseCap(plainCooler(), plainCurve(), coarse)).toThrow(
      /the largest that does is 120\.0 W, 380\.0 W short; nearest ways out, each alone: a step of 1 W, or a better cooler$/,
    );
  });

  test('air that passes the limit by itself, and a step between two bounds, are named', () => {
    const hot = { limitC: 40, ambientC: 30, enclosure: { riseK: 15 } };
    expect(() => chooseCap(plainCooler(), plainCurve(), hot)).toThrow(
      /the air at the intake alone exceeds the limit/,
    );
    expect(() => chooseCap(plainCooler(), plainCurve(), hot)).not.toThrow(/a better cooler/);
    const inKilowatts = { limitC: 85, ambientC: 25, maxCapW: 0.12 };
    expect(() => chooseCap(plainCooler(), plainCurve(), inKilowatts)).toThrow(
      /the highest cap, 0\.12 W, lies below the lowest settable cap, 1 W, and far from the 60 to 120 W .* give powers in W$/,
    );
    const narrow = { limitC: 95, ambientC: 20, minCapW: 101, maxCapW: 104, stepW: 5 };
    expect(() => chooseCap(plainCooler(), plainCurve(), narrow)).toThrow(/no multiple of the step of 5 W/);
    const above = { limitC: 95, ambientC: 20, minCapW: 130 };
    expect(() => chooseCap(plainCooler(), plainCurve(), above)).toThrow(
      /no cap of 130 W or more, in steps of 1 W, lies within the powers logged, at most 120 W; give `defaultCapW` or `maxCapW`/,
    );
  });

  test('a cap below half of what was logged is provisional and says so before anything else', () => {
    const low = { limitC: 38, ambientC: 25 }; // 26 W, where 60 to 120 W were logged
    const { powerCapW, summary, cautions } = chooseCap(plainCooler(), plainCurve(), low);
    expect(powerCapW).toBe(26);
    expect(summary).toMatch(/^Provisional, because the cap lies far outside the powers that were logged/);
    expect(cautions[0]).toMatch(
      /^Far outside the data: the cap of 26 W lies below half of the 60 to 120 W the cooler was logged at\. Log a run/,
    );
    const narrow = plainCooler({}, { testedRange: { ...plainCooler().testedRange, powerW: [40, 40] } });
    expect(chooseCap(narrow, undefined, { limitC: 85, ambientC: 25, maxCapW: 200 }).cautions[0]).toMatch(
      /120 W lies above twice the 40 W/,
    );
    expect(chooseCap(plainCooler(), plainCurve(), { limitC: 40.1, ambientC: 25 }).summary).not.toMatch(
      /Provisional/,
    );
  });

  test('a cap below a quarter or above four times of what was logged is refused with what to do', () => {
    expect(() => chooseCap(plainCooler(), plainCurve(), { limitC: 28, ambientC: 25 })).toThrow(
      /a cap of about 6 W would follow for 'flat 58 mm', less than a quarter of the 60 to 120 W it was logged at, .*log a run at about that power, give `minCapW`, the lowest cap of use, or check the limit/,
    );
    const low = plainCooler({}, { testedRange: { ...plainCooler().testedRange, powerW: [15, 20] } });
    const wide = { limitC: 85, ambientC: 25, defaultCapW: 118 };
    expect(() => chooseCap(low, plainCurve(), wide)).toThrow(NumericalError);
    expect(() => chooseCap(low, plainCurve(), wide)).toThrow(/118 W would follow .*more than four times/);
  });

  test('serious findings and fits that did not converge are repeated first and make the answer provisional', () => {
    const cooler = plainCooler(spread, {
      findings: [{ code: 'unsteady', severity: 'serious', message: 'Still rising.', remedy: 'log longer' }],
    });
    const curve = plainCurve({ termination: { reason: 'limit', converged: false, message: 'step limit' } });
    const choice = chooseCap(cooler, curve, drawer);
    expect(choice.cautions[0]).toBe("Serious finding of the cooler 'flat 58 mm': Still rising. Log longer.");
    expect(choice.cautions[1]).toMatch(
      /fit of the power curve 'twelve cores' did not converge \(step limit\)/,
    );
    expect(choice.summary).toMatch(/^Provisional/);
    expect(chooseCap(plainCooler(spread), plainCurve(), drawer).summary).not.toMatch(/Provisional/);
  });
});

describe('what follows at the cap', () => {
  const cooler = plainCooler(spread);
  const choice = chooseCap(cooler, plainCurve(), drawer);

  test('the chance of passing the limit grows with the cap and is at most 1 − confidence at it', () => {
    expect(choice.neighbours.map(({ powerCapW }) => powerCapW - choice.powerCapW)).toEqual([-2, -1, 0, 1, 2]);
    const chances = choice.neighbours.map(({ chanceOfPassingLimit }) => chanceOfPassingLimit);
    expect(chances).toEqual([...chances].sort((a, b) => a - b));
    expect(chances[2]).toBeLessThanOrEqual(0.05);
    expect(chances[3]).toBeGreaterThan(0.05); // the next step no longer holds
  });

  test('sensitivities agree with caps for a limit and a room that differ by one kelvin', () => {
    const at = (change: Partial<CapScenario>) =>
      chooseCap(cooler, plainCurve(), { ...drawer, ...change }).unroundedCapW;
    const { capPerLimitWPerK, capPerAmbientWPerK, temperaturePerPowerKPerW } = choice.sensitivities;
    // Within 1 %: one is a slope, the other a difference of order statistics.
    expect(capPerLimitWPerK / ((at({ limitC: 86 }) - at({ limitC: 84 })) / 2)).toBeCloseTo(1, 1.7);
    expect(capPerAmbientWPerK / (at({ ambientC: { low: 23, high: 31 } }) - choice.unroundedCapW)).toBeCloseTo(
      1,
      1.7,
    );
    const mean = (powerCapW: number) =>
      known(chooseCap(cooler, plainCurve(), { ...drawer, maxCapW: powerCapW }).steadyTemperatureC).value;
    const capW = choice.powerCapW;
    expect(temperaturePerPowerKPerW).toBeCloseTo((mean(capW) - mean(capW - 2)) / 2, 3);
  });

  test('MHz per watt is the slope of the power law with its propagated standard error', () => {
    // f = f0 (P/P0)^β: df/dP = β f / P, and β carries (1 + β ln(P/P0)) of its standard error into it.
    const { frequencyPerPowerMHzPerW } = choice.sensitivities;
    const frequency = 3600 * (choice.powerCapW / 90) ** 0.25;
    const slope = known(frequencyPerPowerMHzPerW);
    expect(slope.value).toBeCloseTo((0.25 * frequency) / choice.powerCapW, 3);
    const ofExponent = (frequency / choice.powerCapW) * (1 + 0.25 * Math.log(choice.powerCapW / 90)) * 0.01;
    const ofReference = (slope.value / 3600) * 6;
    expect(slope.standardError).toBeCloseTo(Math.hypot(ofExponent, ofReference), 3);
  });

  test('the temperature against the cap passes through the answer, and what holds with confidence meets the limit', () => {
    const rows = choice.temperatureAgainstCap;
    expect(rows.length).toBeGreaterThanOrEqual(35);
    expect(rows.length).toBeLessThanOrEqual(60);
    const own = rows.find(({ powerCapW }) => powerCapW === choice.powerCapW)!;
    const [low, high] = known(choice.steadyTemperatureC).interval95;
    // The picture uses the first 1,024 draws only.
    expect(own.temperatureC).toBeCloseTo(known(choice.steadyTemperatureC).value, 1);
    expect(Math.abs(own.lowC - low)).toBeLessThan(0.1);
    expect(Math.abs(own.highC - high)).toBeLessThan(0.1);
    const holding = rows.filter(({ atConfidenceC }) => atConfidenceC <= 85);
    const step = rows[1].powerCapW - rows[0].powerCapW;
    expect(Math.abs(holding.at(-1)!.powerCapW - choice.unroundedCapW)).toBeLessThan(step + 0.1);
    for (let i = 1; i < rows.length; i++) expect(rows[i].highC).toBeGreaterThan(rows[i - 1].highC);
  });
});

describe('the cost against the default cap', () => {
  test('a default cap that would pass the limit is itself held there', () => {
    const choice = chooseCap(plainCooler(), plainCurve(), {
      limitC: 85,
      ambientC: 25,
      enclosure: { riseK: 10 },
      defaultCapW: 118,
      maxCapW: 90,
    });
    expect(choice.powerCapW).toBe(90);
    expect(choice.cost).toMatchObject({ heldAtLimit: true, chanceOfPassingLimit: 1 });
    expect(choice.cost?.sustainedPowerW).toBeCloseTo(100, 9);
    // Power law: the lost share is 1 − (90/100)^0.25, whatever the reference frequency.
    expect(known(choice.cost?.lossFraction).value).toBeCloseTo(1 - 0.9 ** 0.25, 9);
    expect(choice.summary).toMatch(
      /2\.6 % below what the default cap of 118 W sustains here, held at the limit at about 100 W/,
    );
  });

  test('a default cap that holds is compared as it is', () => {
    const choice = chooseCap(plainCooler(), plainCurve(), {
      limitC: 95,
      ambientC: 20,
      defaultCapW: 118,
      maxCapW: 90,
    });
    expect(choice.cost).toMatchObject({ heldAtLimit: false, sustainedPowerW: 118, chanceOfPassingLimit: 0 });
    expect(known(choice.cost?.frequencyMHz).value).toBeCloseTo(3600 * (118 / 90) ** 0.25, 6);
    expect(choice.summary).toMatch(
      /6\.5 % below the default cap of 118 W, which exceeds the limit with a chance of 0 %/,
    );
  });

  test('its uncertainty is that of the difference: what both frequencies share cancels', () => {
    const { cost, frequencyMHz } = chooseCap(plainCooler(), plainCurve(), {
      limitC: 95,
      ambientC: 20,
      defaultCapW: 118,
      maxCapW: 90,
    });
    // The cap is the curve's reference: its frequency carries the 6 MHz alone, and the loss hardly any of them.
    expect(known(frequencyMHz).standardError).toBeCloseTo(6, 6);
    const ratio = (118 / 90) ** 0.25;
    const ofReference = 6 * (ratio - 1);
    const ofExponent = 3600 * ratio * Math.log(118 / 90) * 0.01;
    expect(known(cost?.frequencyLossMHz).standardError).toBeCloseTo(Math.hypot(ofReference, ofExponent), 6);
    expect(known(cost?.lossFraction).standardError).toBeCloseTo((Math.log(118 / 90) * 0.01) / ratio, 9);
  });

  test('a curve from one power level leaves the cost open and says what to log', () => {
    const curve = plainCurve({
      frequencyPerPowerMHzPerW: { kind: 'unavailable', reason: 'not-identifiable' },
      testedRange: { powerW: [118, 118], frequencyMHz: [3800, 3900], temperatureC: [60, 90] },
    });
    const choice = chooseCap(plainCooler(spread), curve, drawer);
    expect(choice.frequencyMHz).toEqual({ kind: 'unavailable', reason: 'not-identifiable' });
    expect(choice.cost).toMatchObject({
      lossFraction: { kind: 'unavailable' },
      frequencyLossMHz: { kind: 'unavailable' },
      heldAtLimit: true,
    });
    expect(choice.sensitivities.frequencyPerPowerMHzPerW).toMatchObject({ kind: 'unavailable' });
    expect(choice.temperatureAgainstCap.some((row) => 'frequencyMHz' in row && row.powerCapW < 110)).toBe(
      false,
    );
    expect(choice.cautions.join(' ')).toMatch(
      /frequency at the cap is not identifiable.*log runs at two or more caps/,
    );
    expect(choice.summary).not.toMatch(/Cores/);
  });
});

describe('without a power curve', () => {
  const choice = chooseCap(plainCooler(spread), undefined, drawer);
  const withCurve = chooseCap(plainCooler(spread), plainCurve(), drawer);

  test('the cap, its temperatures and its chances are those with a curve', () => {
    const { powerCapW, unroundedCapW, steadyTemperatureC, neighbours, bindingConstraint } = withCurve;
    expect(choice).toMatchObject({
      powerCapW,
      unroundedCapW,
      steadyTemperatureC,
      neighbours,
      bindingConstraint,
    });
    const { defaultCapW, sustainedPowerW, heldAtLimit, chanceOfPassingLimit } = withCurve.cost!;
    expect(choice.cost).toMatchObject({ defaultCapW, sustainedPowerW, heldAtLimit, chanceOfPassingLimit });
    expect(JSON.parse(JSON.stringify(choice))).toEqual(choice);
  });

  test('frequency and cost are unavailable, never a number, and a caution says what to log', () => {
    const missing = { kind: 'unavailable', reason: 'not-identifiable' };
    expect(choice.frequencyMHz).toEqual(missing);
    expect(choice.sensitivities.frequencyPerPowerMHzPerW).toEqual(missing);
    expect(choice.cost).toMatchObject({
      frequencyMHz: missing,
      frequencyLossMHz: missing,
      lossFraction: missing,
    });
    expect(choice.temperatureAgainstCap.some((row) => 'frequencyMHz' in row)).toBe(false);
    expect(choice.cautions.join('\n')).toMatch(
      /^No power curve is given, .*cost of the cap are not known: log the core frequency, .*two or more caps\.$/m,
    );
    expect(choice.summary).toMatch(/^Set the cap to \d+ W\./);
    expect(choice.summary).not.toMatch(/Cores|MHz/);
  });
});

describe('cautions', () => {
  const cautionsOf = (scenario: CapScenario, cooler = plainCooler(spread), curve = plainCurve()) =>
    chooseCap(cooler, curve, scenario).cautions.join('\n');

  test('an open bench is named with what enclosures commonly add', () => {
    expect(cautionsOf({ limitC: 85, ambientC: 25 })).toMatch(/Open bench.*nclosures commonly add 5 to 15 K/);
    expect(cautionsOf(drawer)).not.toMatch(/Open bench/);
  });

  test('a cooler logged in an enclosure does not get its rise twice unnoticed', () => {
    const inside = plainCooler(spread, { enclosure: 'drawer' });
    expect(cautionsOf(drawer, inside)).toMatch(/the rise counts twice/);
    expect(cautionsOf({ limitC: 85, ambientC: 25 }, inside)).toMatch(/no enclosure rise is given/);
    const bench = plainCooler(spread, { enclosure: 'open bench' });
    expect(cautionsOf({ limitC: 85, ambientC: 25 }, bench)).toMatch(/^Open bench/m);
  });

  test('extrapolation beyond the logged powers by more than 2 % is marked and said in words', () => {
    const narrow = plainCooler(
      { ...spread, exponentSource: 'assumed' },
      {
        testedRange: { powerW: [118, 118], temperatureC: [80, 90], durationS: 1500 },
      },
    );
    const choice = chooseCap(narrow, plainCurve(), drawer);
    expect(choice.extrapolated).toBe(true);
    expect(choice.steadyTemperatureC).toMatchObject({ extrapolated: true });
    expect(choice.summary).toMatch(/outside the powers this cooler was logged at \(extrapolated\)\.$/);
    const text = choice.cautions.join('\n');
    expect(text).toMatch(/Extrapolated: the cooler was logged at 118 W/);
    expect(text).toMatch(/R ∝ P\^−q with q = 0\.03 and a standard deviation of 0\.02/);
    const high = plainCurve({ testedRange: { ...plainCurve().testedRange, powerW: [110, 120] } });
    expect(cautionsOf(drawer, plainCooler(spread), high)).toMatch(
      /the power curve was logged at 110 to 120 W/,
    );
    expect(chooseCap(plainCooler(spread), plainCurve(), drawer).extrapolated).toBe(false);
  });

  test('cooler and curve of different processors are told', () => {
    const text = cautionsOf(drawer, plainCooler(spread, { processor: 'a' }), plainCurve({ processor: 'b' }));
    expect(text).toMatch(/cooler was logged on 'a', the power curve on 'b'/);
  });

  test("the makers' limits come before the answer, always", () => {
    expect(cautionsOf(drawer)).toMatch(/Stay within the makers' limits.*not a protection/);
    expect(cautionsOf(drawer)).toMatch(/licensed practice.*local codes/);
  });
});

test('the summary is what a person needs to act', () => {
  expect(chooseCap(plainCooler(spread), plainCurve(), drawer).summary).toMatch(
    /^Set the cap to \d+ W\. In an enclosure that adds 9 ± 1 K \(one standard deviation\), in a room of 22 to 30 °C, the processor under 'flat 58 mm' stays at or below 85 °C with 95 % confidence \(mean [\d.]+ °C, [\d.]+ to [\d.]+ °C\)\. Cores run at \d+ ± \d+ MHz, [\d.]+ % below what the default cap of 118 W sustains here, held at the limit at about \d+ W\.$/,
  );
  expect(chooseCap(plainCooler(), plainCurve(), { limitC: 85, ambientC: 25 }).summary).toMatch(
    /On an open bench in a room of 25 °C the processor/,
  );
});
