import { describe, expect, test } from 'vitest';
import { chooseCap } from '../../../toolkit/cap/choose/choose-cap.js';
import type { CapScenario } from '../../../toolkit/cap/scenario/cap-scenario.js';
import { powerAt } from '../../../toolkit/power/predict/frequency-at.js';
import { makeRun } from '../../../toolkit/runs/make-run.js';
import { burstPower } from '../../../toolkit/thermal/burst/burst-power.js';
import { coolerFromSteadyPoints } from '../../../toolkit/thermal/cooler-from-steady-points.js';
import type { CoolerModel } from '../../../toolkit/thermal/cooler-model.js';
import { enclosureBetween } from '../../../toolkit/thermal/enclosure-between.js';
import { fitCooler } from '../../../toolkit/thermal/fit/fit-cooler.js';
import { simulateTemperature } from '../../../toolkit/thermal/simulate.js';
import { plainCooler } from './plain-cooler.js';
import { workedCurve } from './worked-curve.js';

const room: CapScenario = { limitC: 80, ambientC: 25, maxCapW: 160 };

/** A cooler of two stages, 0.15 K/W at 8 s and 0.35 K/W at 150 s, fitted from a run without noise. */
const staged: CoolerModel = (() => {
  const timeS = Array.from({ length: 1500 }, (_, i) => i);
  return fitCooler(
    makeRun(
      {
        timeS,
        powerW: timeS.map((t) => (t === 0 ? 0 : 90)),
        temperatureC: timeS.map(
          (t) => 25 + 90 * (0.15 * (1 - Math.exp(-t / 8)) + 0.35 * (1 - Math.exp(-t / 150))),
        ),
      },
      { label: 'two stages', conditions: { ambientC: 25 } },
    ),
    { powerExponent: 0 },
  );
})();

describe('a top frequency', () => {
  const scenario = { ...room, maxCapW: 118 };

  test('within the curve is taken, however open its power is at temperatures far from those logged', () => {
    // At 160 °C the band of this curve holds 3650 MHz at all powers; at the temperatures that come up it does not.
    const choice = chooseCap(plainCooler({ thermalResistanceKPerW: 0.4 }), workedCurve(), {
      ...scenario,
      topFrequencyMHz: 3650,
    });
    expect(choice.packagePowerW).toBeLessThan(110);
    expect(
      powerAt(workedCurve(), { frequencyMHz: 3650, temperatureC: choice.steadyTemperatureC.value! }).value,
      // The table of powers over temperature is good to a few hundredths of a watt.
    ).toBeCloseTo(choice.packagePowerW, 1);
  });

  test('that would take more than four times the power logged is refused', () => {
    expect(() => chooseCap(plainCooler(), workedCurve(), { ...scenario, topFrequencyMHz: 9000 })).toThrow(
      /`scenario.topFrequencyMHz` must be a frequency that the power curve 'twelve cores' reaches at some power \(received 9000\); leave it out, or log runs/,
    );
  });
});

describe('several loads under one cap', () => {
  const dense = plainCooler({ thermalResistanceKPerW: 0.55 }, { label: 'dense' });

  test('the hottest binds', () => {
    const choice = chooseCap(plainCooler(), workedCurve(), {
      ...room,
      workloads: [{ label: 'render' }, { label: 'encode', cooler: dense }],
    });
    expect(choice.unroundedCapW).toBeCloseTo(55 / 0.55, 9);
    expect(choice.loads!.map(({ label, belowCap }) => [label, belowCap])).toEqual([
      ['render', false],
      ['encode', false],
    ]);
    expect(choice.loads![1].temperatureC).toBeCloseTo(choice.steadyTemperatureC.value!, 9);
    expect(choice.summary).toMatch(/at the hottest of its loads/);
  });

  test('a load that draws less than the cap does not bind and takes no more than its demand', () => {
    const choice = chooseCap(plainCooler(), workedCurve(), {
      ...room,
      workloads: [
        { label: 'render', shareFraction: 0.75 },
        { label: 'encode', cooler: dense, demandW: 60, shareFraction: 0.25 },
      ],
    });
    expect(choice.unroundedCapW).toBeCloseTo(55 / 0.5, 9);
    expect(choice.loads![1]).toMatchObject({ powerW: 60, belowCap: true });
    expect(choice.loads![1].temperatureC).toBeCloseTo(25 + 0.55 * 60, 9);
    expect(choice.packagePowerW).toBeCloseTo(0.75 * choice.powerCapW + 0.25 * 60, 9);
  });

  test('at a cap that none falls short of, all draw it, and whatever their order the cost is that of the most held back', () => {
    const workloads = [
      { label: 'render', shareFraction: 0.5 },
      { label: 'encode', demandW: 70, shareFraction: 0.5 },
    ];
    const supply = { restOfMachineW: 30, efficiencyFraction: 0.9 };
    const asked = { ...room, defaultCapW: 118, objective: 'work-per-watt-hour' as const, supply };
    const choices = [workloads, workloads.toReversed()].map((each) =>
      chooseCap(plainCooler(), workedCurve(), { ...asked, workloads: each }),
    );
    for (const { powerCapW, loads, cost } of choices) {
      expect(powerCapW).toBeLessThan(70);
      expect(loads!.map(({ powerW, belowCap }) => [powerW, belowCap])).toEqual([
        [powerCapW, false],
        [powerCapW, false],
      ]);
      // 80 °C from 25 °C at 0.5 K/W.
      expect(cost!.sustainedPowerW).toBeCloseTo(110, 9);
    }
  });

  test('where none reaches the limit any cap does, and the highest considered is given', () => {
    const choice = chooseCap(plainCooler(), workedCurve(), {
      ...room,
      maxCapW: 120,
      workloads: [{ label: 'idle cues', demandW: 30 }],
    });
    expect(choice.powerCapW).toBe(120);
    expect(choice.bindingConstraint).toBe('max-cap');
    expect(choice.unroundedCapW).toBe(120);
    expect(choice.packagePowerW).toBeCloseTo(30, 9);
    expect(JSON.parse(JSON.stringify(choice))).toEqual(choice);
  });

  test('mistakes in the list are named', () => {
    const ask = (workloads: unknown) => () =>
      chooseCap(plainCooler(), workedCurve(), { ...room, workloads } as CapScenario);
    expect(ask([])).toThrow(/`scenario\.workloads` must be an array of loads, each with a label/);
    expect(ask([{ label: 'a' }, { label: '' }])).toThrow(/`scenario\.workloads\[1\]\.label` must be a name/);
    expect(ask([{ label: 'a', demand: 3 }])).toThrow(
      /`scenario\.workloads\[0\]\.demand`.*did you mean demandW\?/,
    );
    expect(
      ask([
        { label: 'a', shareFraction: 0.5 },
        { label: 'b', shareFraction: 0.2 },
      ]),
    ).toThrow(/shares of the time that sum to 1 \(received 0\.7\)/);
  });
});

describe('a cycle of loads', () => {
  const dutyCycle = [
    { label: 'render', durationS: 60 },
    { label: 'wait', durationS: 90, demandW: 20 },
  ];

  test('its highest temperature binds: simulating the cycle at the cap just meets the limit', () => {
    const choice = chooseCap(staged, workedCurve(), { ...room, dutyCycle, confidence: 0.5 });
    const capW = choice.unroundedCapW;
    expect(capW).toBeGreaterThan(55 / 0.5); // more than what can be held for ever
    const timeS = Array.from({ length: 150 * 12 }, (_, i) => i);
    const powerW = timeS.map((t) => ((t - 1) % 150 < 60 && t > 0 ? capW : 20));
    const temperatures = simulateTemperature(staged, { timeS, powerW, ambientC: 25 });
    const highest = Math.max(...temperatures.slice(-150));
    // The median of draws about a fit without noise; the simulation steps in seconds.
    expect(Math.abs(highest - 80)).toBeLessThan(0.15);
  });

  test('phases that all last for one power are that power', () => {
    const choice = chooseCap(staged, workedCurve(), {
      ...room,
      confidence: 0.5,
      dutyCycle: [{ durationS: 40 }, { durationS: 70 }],
    });
    const steady = chooseCap(staged, workedCurve(), { ...room, confidence: 0.5 });
    expect(choice.unroundedCapW).toBeCloseTo(steady.unroundedCapW, 6);
    expect(choice.loads!.map(({ label }) => label)).toEqual(['phase 1', 'phase 2']);
  });

  test('work and power are those of the phases by their time', () => {
    const choice = chooseCap(staged, workedCurve(), { ...room, dutyCycle });
    expect(choice.packagePowerW).toBeCloseTo(0.4 * choice.powerCapW + 0.6 * 20, 9);
    expect(choice.loads!.map(({ shareFraction }) => shareFraction)).toEqual([0.4, 0.6]);
  });

  test('needs stages, two phases and no other loads beside', () => {
    expect(() => chooseCap(plainCooler(), workedCurve(), { ...room, dutyCycle })).toThrow(
      /must be a cooler with stages/,
    );
    expect(() => chooseCap(staged, workedCurve(), { ...room, dutyCycle: [{ durationS: 3 }] })).toThrow(
      /`scenario\.dutyCycle` must be an array of two phases or more/,
    );
    expect(() =>
      chooseCap(staged, workedCurve(), { ...room, dutyCycle, workloads: [{ label: 'a' }] }),
    ).toThrow(/`scenario\.dutyCycle` must be given without `workloads`/);
  });
});

describe('a short-term cap beside the sustained one', () => {
  test('is the power that reaches the limit at the end of its window, as burstPower has it', () => {
    const choice = chooseCap(staged, workedCurve(), {
      ...room,
      confidence: 0.5,
      shortTerm: { windowS: 30, startPowerW: 20, maxCapW: 400 },
    });
    const burst = burstPower(staged, { durationS: 30, startPowerW: 20, limitC: 80, ambientC: 25 });
    expect(choice.shortTerm!.unroundedCapW / burst.powerW.value!).toBeCloseTo(1, 3);
    expect(choice.shortTerm).toMatchObject({
      windowS: 30,
      startPowerW: 20,
      bindingConstraint: 'temperature',
    });
    expect(choice.shortTerm!.powerCapW).toBeGreaterThan(choice.powerCapW);
    expect(choice.summary).toMatch(
      /For up to 30 s at a time, from rest at 20 W or less, \d+ W are allowed; then \d+ W/,
    );
    expect(choice.cautions.join('\n')).toMatch(/short-term cap holds for one stretch of 30 s/);
    expect(JSON.parse(JSON.stringify(choice))).toEqual(choice);
  });

  test('of a long window is the sustained cap', () => {
    const choice = chooseCap(staged, workedCurve(), {
      ...room,
      confidence: 0.5,
      shortTerm: { windowS: 1e5 },
    });
    expect(choice.shortTerm!.unroundedCapW).toBeCloseTo(choice.unroundedCapW, 6);
  });

  test('stays within the highest cap and the supply', () => {
    const ask = (change: Partial<CapScenario>) =>
      chooseCap(staged, workedCurve(), { ...room, shortTerm: { windowS: 10 }, ...change }).shortTerm!;
    expect(ask({ maxCapW: 118 })).toMatchObject({ powerCapW: 118, bindingConstraint: 'max-cap' });
    expect(ask({ supply: { budgetW: 130 } })).toMatchObject({ powerCapW: 130, bindingConstraint: 'supply' });
  });

  test('a start that is too warm by itself is refused', () => {
    expect(() =>
      chooseCap(staged, workedCurve(), { ...room, shortTerm: { windowS: 10, startPowerW: 130 } }),
    ).toThrow(/not even the sustained cap of \d+ W can be held for 10 s: the start is too warm/);
    expect(() => chooseCap(plainCooler(), workedCurve(), { ...room, shortTerm: { windowS: 10 } })).toThrow(
      /must be a cooler with stages/,
    );
  });
});

test('an enclosure measured by enclosureBetween is taken as it is', () => {
  const at = (temperatureC: number, enclosure: string) =>
    coolerFromSteadyPoints([{ powerW: 80, temperatureC, ambientC: 24 }], { enclosure });
  const measured = enclosureBetween(at(64, 'open bench'), at(72, 'drawer'));
  const choice = chooseCap(plainCooler(), workedCurve(), { ...room, enclosure: measured });
  expect(choice.scenario.enclosure).toEqual(measured.scenario);
  expect(choice).toEqual(chooseCap(plainCooler(), workedCurve(), { ...room, enclosure: measured.scenario }));
});
