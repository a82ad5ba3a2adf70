import { describe, expect, it } from 'vitest';
import type { CapChoice } from '../../../../toolkit/cap/choose/cap-choice.js';
import { chooseCap } from '../../../../toolkit/cap/choose/choose-cap.js';
import { createWhatIf, type WhatIfAnswer } from '../../../../toolkit/cap/choose/what-if.js';
import type { CapScenario } from '../../../../toolkit/cap/scenario/cap-scenario.js';
import { capPanelModel } from '../../../../toolkit/notebook/panel/cap-panel.js';
import { explore } from '../../../../toolkit/notebook/panel/explore.js';
import { controlsHtml } from '../../../../toolkit/notebook/panel/panel-html.js';
import { firstSetting, type PanelModel, shownValue } from '../../../../toolkit/notebook/panel/panel-model.js';
import { curveFromSteadyPoints } from '../../../../toolkit/power/fit/curve-from-steady-points.js';
import { coolerFromSteadyPoints } from '../../../../toolkit/thermal/cooler-from-steady-points.js';

const points = [
  { powerW: 60, temperatureC: 52.1, frequencyMHz: 3180 },
  { powerW: 80, temperatureC: 61.9, frequencyMHz: 3450 },
  { powerW: 100, temperatureC: 72.2, frequencyMHz: 3650 },
];
const cooler = coolerFromSteadyPoints(points, { cooler: 'flat 58 mm' });
const curve = curveFromSteadyPoints(points);
const scenario: CapScenario = {
  limitC: 80,
  ambientC: { low: 22, high: 28 },
  enclosure: { riseK: { low: 7, high: 11 }, atPowerW: 90 },
  defaultCapW: 110,
};
const model = capPanelModel({ panel: 'cap', cooler, curve, scenario });

function readingOf(name: string, change: Record<string, number> = {}, of: PanelModel = model) {
  const found = of.answer({ ...firstSetting(of), ...change }).readings.find((one) => one.name === name);
  if (found === undefined) throw new Error(`no reading ${name}`);
  return found;
}

describe('the panel of a cap', () => {
  it('starts at the recommended cap, which is that of chooseCap', () => {
    const choice = chooseCap(cooler, curve, scenario);
    expect(firstSetting(model)['powerCapW']).toBe(choice.powerCapW);
    expect(readingOf('recommendedCapW').text).toBe(`${choice.powerCapW} W`);
    expect(readingOf('temperatureC').text).toMatch(
      new RegExp(`^${choice.steadyTemperatureC.value!.toFixed(1)} °C \\(`),
    );
  });

  it('follows its controls as chooseCap follows its scenario', () => {
    const change = { ambientC: 30, enclosureRiseK: 5, limitC: 78, confidencePercent: 90 };
    const choice = chooseCap(cooler, curve, {
      ...scenario,
      ambientC: { low: 27, high: 33 },
      enclosure: { riseK: { low: 3, high: 7 }, atPowerW: 90 },
      limitC: 78,
      confidence: 0.9,
    });
    expect(readingOf('recommendedCapW', change).text).toBe(`${choice.powerCapW} W`);
  });

  it('says in words that a cap passes the limit, and how likely', () => {
    expect(readingOf('temperatureC').mark).toBeUndefined();
    expect(readingOf('temperatureC', { powerCapW: 110 }).mark).toMatch(/^above 80 °C with 99 % chance/);
    expect(model.answer({ ...firstSetting(model), powerCapW: 110 }).sentence).toMatch(
      /^At 110 W the die settles at .* passes 80 °C with a chance of 99 %\. Extrapolated: this lies outside what was logged\. Recommended here: /,
    );
  });

  it('compares with the default cap, itself held at the limit: a higher cap than that gives over 100 %', () => {
    const share = (powerCapW: number) => Number.parseFloat(readingOf('againstDefault', { powerCapW }).text);
    expect(share(60)).toBeLessThan(95);
    // With 6 K of room the default cap of 110 W would be held at about 95 W.
    expect(share(110)).toBeGreaterThan(100);
  });

  it('compares with the default cap as chooseCap does, interval and all', () => {
    const { cost } = chooseCap(cooler, curve, scenario);
    if (cost?.lossFraction.kind !== 'estimated') throw new Error('no cost');
    const { value, interval95 } = cost.lossFraction;
    expect(readingOf('againstDefault').text).toBe(
      `${(100 * (1 - value)).toFixed(0)} ± ${(50 * (interval95[1] - interval95[0])).toFixed(0)} %`,
    );
    expect(readingOf('againstDefault').label).toMatch(/of 110 W, held at the limit$/);
  });

  it('says what lies outside the logs, in the readings, the sentence and the cautions of chooseCap', () => {
    const inside = model.answer(firstSetting(model));
    const choice = chooseCap(cooler, curve, scenario);
    expect(inside.cautions).toEqual(choice.cautions);
    expect(inside.sentence.includes('Extrapolated')).toBe(choice.extrapolated);
    expect(readingOf('temperatureC').mark).toBeUndefined();
    const far = { powerCapW: 125 };
    expect(readingOf('temperatureC', far).mark).toMatch(/; extrapolated$/);
    expect(readingOf('frequencyMHz', far).mark).toBe('extrapolated');
    const outside = model.answer({ ...firstSetting(model), ...far });
    expect(outside.sentence).toContain('Extrapolated: this lies outside what was logged.');
    expect(outside.cautions[0]).toMatch(
      /^Extrapolated: the cooler was logged at 60 to 100 W, the cap is 125 W; log a run/,
    );
    expect(outside.cautions).toContainEqual(
      expect.stringMatching(/^The cap lies above the maker's default of 110 W: board, supply and warranty/),
    );
    expect(outside.cautions).toContainEqual(expect.stringMatching(/^Stay within the makers' limits/));
  });

  it.each<[string, Record<string, number>]>([
    ['as it starts', {}],
    ['moved', { ambientC: 30, enclosureRiseK: 5, powerCapW: 91, limitC: 78, confidencePercent: 90 }],
    ['without an enclosure', { enclosureRiseK: 0 }],
  ])('gives the setting back as a cell with the same answers to the last digit: %s', (which, change) => {
    const setting = { ...firstSetting(model), ...change };
    const { code, readings, cautions } = model.answer(setting);
    const shown: WhatIfAnswer[] = [];
    const kpw = { chooseCap, createWhatIf, show: (answer: WhatIfAnswer) => shown.push(answer) };
    const body = code.replace('kpw.chooseCap', 'return kpw.chooseCap');
    const cell = new Function('kpw', 'cooler', 'curve', body) as (...args: unknown[]) => CapChoice;
    const choice = cell(kpw, cooler, curve);
    const text = (name: string) => readings.find((reading) => reading.name === name)!.text;
    expect(text('recommendedCapW')).toBe(`${choice.powerCapW} W`);
    const [atCap] = shown;
    expect(atCap.powerCapW).toBe(setting['powerCapW']);
    expect(atCap.cautions).toEqual(cautions);
    expect(text('temperatureC')).toBe(
      `${atCap.temperatureC.toFixed(1)} °C (${atCap.temperatureInterval95C.map((end) => end.toFixed(1)).join(' to ')})`,
    );
    // The scenario itself is that of the panel, digit by digit.
    if (which === 'as it starts') expect(choice).toEqual(chooseCap(cooler, curve, scenario));
  });

  it('starts from numbers that are on no step as they are given', () => {
    const odd = {
      ...scenario,
      ambientC: 23.71,
      confidence: 0.975,
      enclosure: { riseK: { mean: 9.834721873, standardDeviation: 0.3 } },
    };
    const panel = capPanelModel({ panel: 'cap', cooler, curve, scenario: odd });
    expect(firstSetting(panel)).toMatchObject({
      ambientC: 23.71,
      enclosureRiseK: 9.834721873,
      confidencePercent: 97.5,
    });
    const { code } = panel.answer(firstSetting(panel));
    expect(code).toContain('riseK: { mean: 9.834721873, standardDeviation: 0.3 }');
    expect(code).toContain('confidence: 0.975,');
    const [, , rise] = panel.controls;
    expect(controlsHtml(panel)).toContain(`value="9.835" aria-valuetext="9.835 K"`);
    expect(rise.low).toBeCloseTo(9.835 - 39 * 0.25, 9);
  });

  it('jumps to the recommended cap of the present setting', () => {
    const setting = { ...firstSetting(model), ambientC: 35 };
    const [jump] = model.jumps;
    expect(`${jump.to(setting)['powerCapW']} W`).toBe(readingOf('recommendedCapW', setting).text);
  });

  it('says what has no control and why, and what no cap can hold', () => {
    expect(model.missing.join(' ')).toMatch(/fan speed.*voltage offset/);
    const { sentence } = model.answer({
      ...firstSetting(model),
      limitC: 60,
      ambientC: 45,
      enclosureRiseK: 30,
    });
    expect(sentence.length).toBeGreaterThan(20);
    expect(readingOf('timeToLimitS').text).toBe('not known: the stages are not');
  });

  it('answers at both ends of every control, in numbers or in words', () => {
    for (const { name, low, high } of model.controls)
      for (const value of [low, high]) {
        const { readings, sentence } = model.answer({ ...firstSetting(model), [name]: value });
        expect([name, value, readings.length]).toEqual([name, value, 5]);
        expect(sentence).toMatch(/^At [\d.]+ W the die settles at/);
      }
    const sure = { ...scenario, confidence: 0.995 };
    const surest = capPanelModel({ panel: 'cap', cooler, curve, scenario: sure });
    expect(readingOf('recommendedCapW', {}, surest).text).toBe(
      `${chooseCap(cooler, curve, sure).powerCapW} W`,
    );
  });

  it('says what fails where no cap holds all that is asked, and what a cap set by hand comes to all the same', () => {
    const narrow = capPanelModel({ panel: 'cap', cooler, curve, scenario: { ...scenario, minCapW: 100 } });
    const { readings, sentence, picture } = narrow.answer({ ...firstSetting(narrow), powerCapW: 70 });
    expect(readings.find(({ name }) => name === 'recommendedCapW')!.text).toBe(
      'none holds all that is asked',
    );
    expect(sentence).toMatch(/^At 70 W the die settles at .* No cap from 100 W up holds 80 °C.*\.$/);
    expect(picture).toContain('No cap holds all that is asked');
    expect(narrow.jumps[0].to(firstSetting(narrow))).toEqual({});
    const { readings: none, sentence: why } = model.answer({
      ...firstSetting(model),
      limitC: 45,
      ambientC: 45,
    });
    expect(none).toEqual([]);
    expect(why).toMatch(/^`scenario\.limitC` must be above the room air/);
  });

  it('keeps every control within its range and on its step', () => {
    for (const { name, low, high, step, value } of model.controls) {
      expect([name, value >= low && value <= high]).toEqual([name, true]);
      const steps = (shownValue({ step }, value) - low) / step;
      expect([name, Math.abs(steps - Math.round(steps)) < 1e-6]).toEqual([name, true]);
    }
  });
});

describe('explore', () => {
  it('says at once what is wrong with a scenario', () => {
    expect(() => explore({ cooler, curve, ...scenario, limitC: 20 })).toThrow(/above the room air/);
    expect(() => explore({ cooler, curve, ...scenario, limit: 90 } as never)).toThrow(/limitC/);
    expect(() => explore(undefined as never)).toThrow(/explore\(\{ cooler, curve/);
  });

  it('takes models and scenario apart', () => {
    const { data } = explore({ cooler, curve, ...scenario });
    expect(data).toEqual({ panel: 'cap', cooler, curve, scenario });
    expect(JSON.parse(JSON.stringify(data))).toEqual(data);
  });
});
