import { describe, expect, it } from 'vitest';
import type { CapScenario } from '../../../../toolkit/cap/choose/cap-choice.js';
import { chooseCap } from '../../../../toolkit/cap/choose/choose-cap.js';
import { capPanelModel } from '../../../../toolkit/notebook/panel/cap-panel.js';
import { explore } from '../../../../toolkit/notebook/panel/explore.js';
import { firstSetting, type PanelModel } from '../../../../toolkit/notebook/panel/panel-model.js';
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
      /^At 110 W the die settles at .* passes 80 °C with a chance of 99 %\. Recommended here: /,
    );
  });

  it('compares with the default cap, itself held at the limit: a higher cap than that gives over 100 %', () => {
    const share = (powerCapW: number) => Number.parseFloat(readingOf('againstDefault', { powerCapW }).text);
    expect(share(60)).toBeLessThan(95);
    // With 6 K of room the default cap of 110 W would be held at about 95 W.
    expect(share(110)).toBeGreaterThan(100);
  });

  it('gives the setting back as a cell that chooses the same cap', () => {
    const setting = { ...firstSetting(model), ambientC: 30, enclosureRiseK: 5 };
    const { code, readings } = model.answer(setting);
    const body = code.replace('choice\n', '').replace(/\nchoice$/, '\nreturn choice;');
    const kpw = { chooseCap };
    const choose = new Function('kpw', 'cooler', 'curve', body) as (...args: unknown[]) => {
      powerCapW: number;
    };
    const { powerCapW } = choose(kpw, cooler, curve);
    expect(readings.find(({ name }) => name === 'recommendedCapW')!.text).toBe(`${powerCapW} W`);
  });

  it('jumps to the recommended cap of the present setting', () => {
    const setting = { ...firstSetting(model), ambientC: 35 };
    const [jump] = model.jumps;
    expect(`${jump!.to(setting)['powerCapW']} W`).toBe(readingOf('recommendedCapW', setting).text);
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

  it('keeps every control within its range and on its step', () => {
    for (const { name, low, high, step, value } of model.controls) {
      expect([name, value >= low && value <= high]).toEqual([name, true]);
      const steps = (value - low) / step;
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
