import { describe, expect, test } from 'vitest';
import { chooseCap } from '../../../toolkit/cap/choose/choose-cap.js';
import type { CapScenario } from '../../../toolkit/cap/scenario/cap-scenario.js';
import { plainCooler } from './plain-cooler.js';
import { plainFanCurve, workedCurve } from './worked-curve.js';

const fanCooler = plainCooler(
  { resistanceStandardErrorKPerW: 0.01, degreesOfFreedom: 20 },
  { fanSpeedRpm: 1500 },
);
const room: CapScenario = { limitC: 80, ambientC: { low: 22, high: 28 }, defaultCapW: 118 };

describe('a supply', () => {
  test('with a budget alone is a wattage at the package', () => {
    const choice = chooseCap(plainCooler(), workedCurve(), { ...room, supply: { budgetW: 71.6 } });
    expect(choice.powerCapW).toBe(71);
    expect(choice.bindingConstraint).toBe('supply');
    expect(choice.supplyPowerW).toBe(71);
    expect(choice.summary).toMatch(/all that the supply's budget leaves/);
  });

  test('feeds the rest of the machine through its efficiency', () => {
    const choice = chooseCap(plainCooler(), workedCurve(), {
      ...room,
      supply: { budgetW: 120, restOfMachineW: 32, efficiencyFraction: 0.88 },
    });
    // 120 · 0.88 − 32 = 73.6 W for the package.
    expect(choice.powerCapW).toBe(73);
    expect(choice.supplyPowerW).toBeCloseTo((73 + 32) / 0.88, 10);
    const budget = choice.worth.find(({ of }) => of === 'supply-budget')!;
    expect(budget.capChangeW).toBe(0.88);
    expect(choice.worth.find(({ of }) => of === 'limit')!.capChangeW).toBe(0);
  });

  test('that cannot feed the lowest cap says by how much and what would do', () => {
    const ask = (change: Partial<CapScenario>) => () =>
      chooseCap(plainCooler(), workedCurve(), {
        ...room,
        minCapW: 60,
        supply: { budgetW: 90, restOfMachineW: 32, efficiencyFraction: 0.9 },
        ...change,
      });
    // 90 · 0.9 − 32 = 49 W; (60 + 32) / 0.9 = 102.2 W.
    expect(ask({})).toThrow(
      'chooseCap: the supply fails: its budget of 90 W leaves 49.0 W for the package, 11.0 W short of the lowest cap of 60 W; nearest ways out, each alone: a supply budget of 103 W, a lowest cap of 49 W, or a rest of the machine of 21.0 W',
    );
    expect(ask({ supply: { budgetW: 103, restOfMachineW: 32, efficiencyFraction: 0.9 } })).not.toThrow();
    expect(ask({ minCapW: 49 })).not.toThrow();
    expect(ask({ supply: { budgetW: 90, restOfMachineW: 21, efficiencyFraction: 0.9 } })).not.toThrow();
    expect(ask({ supply: { budgetW: 30, restOfMachineW: 32 } })).toThrow(
      /does not even feed the rest of the machine, 32 W/,
    );
  });
});

describe('a fan', () => {
  const sound = { soundLevelDb: 32, fanSpeedRpm: 1500 };
  const fan = { curve: plainFanCurve(), sound };

  test('takes power with the cube of its speed: twice as fast, eight times as much (fan laws, value from memory)', () => {
    const supplyAt = (rpm: number): number =>
      chooseCap(fanCooler, workedCurve(), {
        ...room,
        maxCapW: 60,
        supply: { restOfMachineW: 0 },
        fan: { ...fan, lowestRpm: rpm, highestRpm: rpm, power: { powerW: 1.5, fanSpeedRpm: 900 } },
      }).supplyPowerW!;
    expect(supplyAt(900)).toBeCloseTo(60 + 1.5, 9);
    expect(supplyAt(1800)).toBeCloseTo(60 + 8 * 1.5, 9);
  });

  test('runs as fast as the sound level allows, by L = L₀ + 50·log₁₀(n/n₀)', () => {
    const choice = chooseCap(fanCooler, workedCurve(), { ...room, fan, maxSoundLevelDb: 30 });
    // 1500 · 10^(−2/50) = 1368 rpm, settable in steps of 50.
    expect(choice.fan).toMatchObject({ speedRpm: 1350, bindingConstraint: 'sound-level' });
    expect(choice.fan!.soundLevelDb).toBeCloseTo(32 + 50 * Math.log10(1350 / 1500), 10);
    expect(choice.bindingConstraint).toBe('temperature');
    const fast = chooseCap(fanCooler, workedCurve(), { ...room, fan });
    expect(fast.fan).toMatchObject({ speedRpm: 2200, bindingConstraint: 'highest-speed' });
    expect(fast.powerCapW).toBeGreaterThan(choice.powerCapW);
  });

  test('at the speed of the cooler’s own runs changes nothing', () => {
    const plain = chooseCap(fanCooler, workedCurve(), room);
    const held = chooseCap(fanCooler, workedCurve(), {
      ...room,
      fan: { ...fan, lowestRpm: 1500, highestRpm: 1500 },
    });
    expect(held.unroundedCapW).toBeCloseTo(plain.unroundedCapW, 9);
    expect(held.fan!.speedRpm).toBe(1500);
  });

  test('follows R∞ + a·n^−b: with nothing uncertain the cap is (limit − air) / R(n)', () => {
    const certain = plainFanCurve({
      covariance: { parameters: [], matrix: Array.from({ length: 3 }, () => [0, 0, 0]) },
    });
    const choice = chooseCap(plainCooler({}, { fanSpeedRpm: 1500 }), workedCurve(), {
      limitC: 70,
      ambientC: 25,
      maxCapW: 200,
      fan: { curve: certain, lowestRpm: 1000, highestRpm: 1000 },
    });
    const resistance = 0.2 + 0.3 * (1000 / 1500) ** -0.7;
    expect(choice.unroundedCapW).toBeCloseTo(45 / resistance, 6);
  });

  test('tells the slowest speed at which the same cap still holds', () => {
    const choice = chooseCap(fanCooler, workedCurve(), { ...room, fan, limitC: 90, defaultCapW: 92 });
    expect(choice.bindingConstraint).toBe('default-cap');
    const slowest = choice.fan!.slowestAtSameCapRpm;
    expect(slowest).toBeLessThan(choice.fan!.speedRpm);
    const capAt = (rpm: number) =>
      chooseCap(fanCooler, workedCurve(), {
        ...room,
        limitC: 90,
        defaultCapW: 92,
        fan: { ...fan, lowestRpm: rpm, highestRpm: rpm },
      }).powerCapW;
    expect(capAt(slowest)).toBe(92);
    expect(capAt(slowest - 50)).toBeLessThan(92);
    expect(choice.cautions.join('\n')).toMatch(/The same cap still holds from \d+ rpm on/);
  });

  test('that takes power itself is not run faster than pays', () => {
    const efficient = {
      ...room,
      objective: 'work-per-watt-hour',
      supply: { restOfMachineW: 30, efficiencyFraction: 0.9 },
    } as const;
    const free = chooseCap(fanCooler, workedCurve(), { ...efficient, fan });
    const hungry = chooseCap(fanCooler, workedCurve(), {
      ...efficient,
      fan: { ...fan, power: { powerW: 6, fanSpeedRpm: 1500 } },
    });
    expect(free.fan!.speedRpm).toBe(2200);
    expect(hungry.fan!.speedRpm).toBeLessThan(1500);
    expect(hungry.fan!.bindingConstraint).toBe('objective');
  });

  test('too loud at its lowest speed says how much and what would do', () => {
    expect(() => chooseCap(fanCooler, workedCurve(), { ...room, fan, maxSoundLevelDb: 10 })).toThrow(
      /^chooseCap: the sound level fails: at its lowest speed, 600 rpm, the fan makes 12\.1 dB, 2\.1 dB above the 10 dB allowed; nearest ways out, each alone: a sound level of 12\.2 dB, a lowest speed of 544 rpm, or another fan$/,
    );
  });

  test('needs the speed of the cooler’s runs and its own cooler', () => {
    expect(() => chooseCap(plainCooler(), workedCurve(), { ...room, fan })).toThrow(
      /`cooler\.fanSpeedRpm` must be the fan speed of its runs/,
    );
    expect(() =>
      chooseCap(plainCooler({}, { fanSpeedRpm: 1500, cooler: 'flat 41 mm' }), workedCurve(), {
        ...room,
        fan: { curve: plainFanCurve({ cooler: 'tower 88 mm' }) },
      }),
    ).toThrow(/`scenario\.fan\.curve` must be the fan curve of 'flat 41 mm' \(received "tower 88 mm"\)/);
    expect(() => chooseCap(fanCooler, workedCurve(), { ...room, maxSoundLevelDb: 30 })).toThrow(
      /`scenario\.maxSoundLevelDb` must be given together with `fan\.curve` and `fan\.sound`/,
    );
  });

  test('known to the cooler’s own fit needs no curve in the scenario', () => {
    const own = plainCooler({}, { fanSpeedRpm: 1500, fanCurve: plainFanCurve() });
    expect(chooseCap(own, workedCurve(), { ...room, fan: {} }).fan!.speedRpm).toBe(2200);
    expect(() => chooseCap(fanCooler, workedCurve(), { ...room, fan: {} })).toThrow(
      /`scenario\.fan\.curve` must be a fan-curve/,
    );
  });
});

describe('objectives', () => {
  const efficient: CapScenario = {
    ...room,
    supply: { restOfMachineW: 25, efficiencyFraction: 0.9 },
    workPerJobCount: 7200,
  };

  test('throughput is the objective where the curve knows it, else frequency', () => {
    expect(chooseCap(plainCooler(), workedCurve(), room).objective.name).toBe('throughput');
    const { throughput: _, ...without } = workedCurve();
    expect(chooseCap(plainCooler(), without, room).objective).toMatchObject({
      name: 'frequency',
      unit: 'MHz',
    });
  });

  test('jobs per hour and energy per job are throughput over the work of a job, and power over that', () => {
    const choice = chooseCap(plainCooler(), workedCurve(), { ...efficient, objective: 'jobs-per-hour' });
    const perSecond = choice.throughputPerS.value!;
    expect(choice.jobRatePerH!.value).toBeCloseTo((perSecond * 3600) / 7200, 9);
    expect(choice.energyPerJobJ!.value).toBeCloseTo((choice.supplyPowerW! * 7200) / perSecond, 6);
    expect(choice.workPerWh.value).toBeCloseTo((perSecond * 3600) / choice.supplyPowerW!, 6);
    expect(choice.objective.reached).toEqual(choice.jobRatePerH);
  });

  test('energy per job has its best cap inside, where neither neighbour takes less', () => {
    const choice = chooseCap(plainCooler(), workedCurve(), { ...efficient, objective: 'energy-per-job' });
    expect(choice.bindingConstraint).toBe('objective');
    const energyAt = (capW: number) =>
      chooseCap(plainCooler(), workedCurve(), { ...efficient, minCapW: capW, maxCapW: capW }).energyPerJobJ!
        .value!;
    const own = choice.energyPerJobJ!.value!;
    expect(own).toBeCloseTo(energyAt(choice.powerCapW), 6);
    expect(energyAt(choice.powerCapW - 1)).toBeGreaterThanOrEqual(own);
    expect(energyAt(choice.powerCapW + 1)).toBeGreaterThanOrEqual(own);
    expect(choice.summary).toMatch(/where the objective is best; more would be allowed/);
  });

  test('work per watt-hour within a least throughput takes the lowest cap that reaches it, with the confidence', () => {
    const choice = chooseCap(plainCooler(), workedCurve(), {
      ...efficient,
      objective: 'work-per-watt-hour',
      minThroughputPerS: 5.5,
    });
    expect(choice.bindingConstraint).toBe('min-throughput');
    const reached = choice.throughputPerS;
    if (reached.kind !== 'estimated') throw new Error('no throughput');
    expect(reached.value - 1.6448536 * reached.standardError).toBeGreaterThanOrEqual(5.5);
    const below = chooseCap(plainCooler(), workedCurve(), {
      ...efficient,
      minCapW: choice.powerCapW - 1,
      maxCapW: choice.powerCapW - 1,
    }).throughputPerS;
    if (below.kind !== 'estimated') throw new Error('no throughput');
    expect(below.value - 1.6448536 * below.standardError).toBeLessThan(5.5);
  });

  test('a least throughput out of reach says by how much and what would do', () => {
    const ask = (change: Partial<CapScenario>) => () =>
      chooseCap(plainCooler(), workedCurve(), { ...room, limitC: 65, minThroughputPerS: 5.6, ...change });
    expect(ask({})).toThrow(
      /^chooseCap: the least throughput fails: the temperature limit allows \d+ W, which reaches 5\.\d+ per second with 95 % confidence, 0\.\d+ short of the 5\.6 asked for; nearest ways out, each alone: a least throughput of 5\.\d+ per second, a limit of \d/,
    );
    const { message } = (() => {
      try {
        ask({})();
      } catch (failure) {
        return failure as Error;
      }
      throw new Error('accepted');
    })();
    const limitC = Number(/a limit of ([\d.]+) °C/.exec(message)![1]);
    const least = Number(/a least throughput of ([\d.]+)/.exec(message)![1]);
    expect(ask({ limitC })).not.toThrow();
    expect(ask({ limitC: limitC - 2 })).toThrow(/least throughput fails/);
    expect(ask({ minThroughputPerS: least * 0.999 })).not.toThrow();
    expect(ask({ minThroughputPerS: 6.5 })).toThrow(/runs logged at higher caps/);
  });

  test('what the curve does not know is not made the objective', () => {
    const { throughput: _, ...without } = workedCurve();
    expect(() => chooseCap(plainCooler(), without, { ...room, objective: 'throughput' })).toThrow(
      /`scenario\.objective` must be left out, or 'frequency'.*log the work done per second/,
    );
    expect(() => chooseCap(plainCooler(), without, { ...room, minThroughputPerS: 5 })).toThrow(
      /`scenario\.minThroughputPerS` must be left out/,
    );
    expect(() => chooseCap(plainCooler(), workedCurve(), { ...room, objective: 'energy-per-job' })).toThrow(
      /`scenario\.workPerJobCount` must be a number, where the objective is energy-per-job/,
    );
  });
});

describe('a voltage offset', () => {
  test('is no deeper than the top frequency asks for', () => {
    const scenario: CapScenario = {
      ...room,
      objective: 'frequency',
      maxCapW: 60,
      topFrequencyMHz: 3150,
      voltageOffset: { lowestMv: -60, stepMv: 5 },
    };
    const choice = chooseCap(plainCooler(), workedCurve(), scenario);
    expect(choice.frequencyMHz.value).toBe(3150);
    const { voltageOffsetMv } = choice;
    expect(voltageOffsetMv).toBeGreaterThan(-60);
    // The next shallower one does not reach it.
    const shallower = { lowestMv: voltageOffsetMv! + 5, stepMv: 5 };
    const less = chooseCap(plainCooler(), workedCurve(), { ...scenario, voltageOffset: shallower });
    expect(less.frequencyMHz.value).toBeLessThan(3150);
  });

  test('goes as deep as was shown to run stably, keeps the cap and gains frequency', () => {
    const plain = chooseCap(plainCooler(), workedCurve(), room);
    const lower = chooseCap(plainCooler(), workedCurve(), { ...room, voltageOffset: { lowestMv: -40 } });
    expect(lower.powerCapW).toBe(plain.powerCapW);
    expect(lower.voltageOffsetMv).toBe(-40);
    expect(lower.frequencyMHz.value!).toBeGreaterThan(plain.frequencyMHz.value! + 20);
    const worth = lower.worth.find(({ of }) => of === 'voltage-offset')!;
    // One millivolt of the forty gains about a fortieth.
    expect(worth.objectiveChangeFraction! * 40).toBeCloseTo(
      lower.frequencyMHz.value! / plain.frequencyMHz.value! - 1,
      2,
    );
    expect(lower.cautions.join('\n')).toMatch(/outside what its maker guarantees/);
  });
});

test('worth agrees with the caps of scenarios that differ by one unit', () => {
  const fan = { curve: plainFanCurve(), lowestRpm: 1400, highestRpm: 1400, stepRpm: 10 };
  const at = (change: Partial<CapScenario>) =>
    chooseCap(fanCooler, workedCurve(), { ...room, limitC: 70, fan, ...change });
  const choice = at({});
  const worthOf = (name: string) => choice.worth.find(({ of }) => of === name)!;
  // The slope is a mean over draws around the quantile, the difference that of two single draws: within 1 %.
  const difference = (at({ limitC: 71 }).unroundedCapW - at({ limitC: 69 }).unroundedCapW) / 2;
  expect(Math.abs(worthOf('limit').capChangeW / difference - 1)).toBeLessThan(0.01);
  const faster = at({ fan: { ...fan, lowestRpm: 1420, highestRpm: 1420 } });
  const slower = at({ fan: { ...fan, lowestRpm: 1380, highestRpm: 1380 } });
  expect(worthOf('fan-speed').capChangeW).toBeCloseTo((faster.unroundedCapW - slower.unroundedCapW) / 40, 3);
  // A kelvin of room air moves the cap the other way; what leakage costs is the same at the limit.
  expect(worthOf('room-air').capChangeW).toBeCloseTo(-worthOf('limit').capChangeW, 9);
  expect(worthOf('cap').objectiveChangeFraction! * worthOf('limit').capChangeW).toBeCloseTo(
    worthOf('limit').objectiveChangeFraction!,
    9,
  );
});

test('where a least throughput keeps the cap, worth says how that cap moves', () => {
  const scenario: CapScenario = {
    limitC: 85,
    ambientC: 25,
    defaultCapW: 118,
    stepW: 0.001,
    objective: 'work-per-watt-hour',
    minThroughputPerS: 5.5,
    fan: { curve: plainFanCurve(), lowestRpm: 1500, highestRpm: 1500 },
    voltageOffset: { lowestMv: -20, highestMv: -20 },
  };
  const ask = (change: Partial<CapScenario>) =>
    chooseCap(fanCooler, workedCurve(), { ...scenario, ...change });
  const choice = ask({});
  expect(choice.bindingConstraint).toBe('min-throughput');
  const ofOffset = (offsetMv: number) => ({ voltageOffset: { lowestMv: offsetMv, highestMv: offsetMv } });
  const ofSpeed = (rpm: number) => ({ fan: { ...scenario.fan, lowestRpm: rpm, highestRpm: rpm } });
  const cases: readonly [string, Partial<CapScenario>, Partial<CapScenario>, number][] = [
    ['room-air', { ambientC: 25.5 }, { ambientC: 24.5 }, 1],
    ['fan-speed', ofSpeed(1520), ofSpeed(1480), 40],
  ];
  for (const [name, more, less, units] of cases) {
    const { capChangeW, objectiveChangeFraction } = choice.worth.find(({ of }) => of === name)!;
    const [high, low] = [ask(more), ask(less)];
    const changeW = (high.powerCapW - low.powerCapW) / units;
    expect(Math.abs(capChangeW / changeW - 1), name).toBeLessThan(0.03);
    const change = Math.log(reachedBy(high) / reachedBy(low)) / units;
    expect(Math.abs(objectiveChangeFraction! / change - 1), name).toBeLessThan(0.03);
  }
  // Between two offsets that can be set there is a choice, and a worth.
  const between = ask({ voltageOffset: { lowestMv: -20, highestMv: -15 } });
  const offset = between.worth.find(({ of }) => of === 'voltage-offset')!;
  const [deep, shallow] = [ask(ofOffset(-20)), ask(ofOffset(-15))];
  expect(Math.abs((5 * offset.capChangeW) / (deep.powerCapW - shallow.powerCapW) - 1)).toBeLessThan(0.05);
  expect(choice.worth.find(({ of }) => of === 'limit')!.capChangeW).toBe(0);

  function reachedBy({ objective: { reached } }: typeof choice): number {
    if (reached.kind === 'unavailable') throw new Error('not estimated');
    return reached.value;
  }
});

test('the most efficient cap does not depend on how finely the cap can be set', () => {
  for (const objective of ['work-per-watt-hour', 'energy-per-job'] as const) {
    const [whole, eighth] = [1, 0.125].map(
      (stepW) =>
        chooseCap(plainCooler(), workedCurve(), {
          limitC: 85,
          ambientC: 25,
          defaultCapW: 118,
          workPerJobCount: 600,
          objective,
          stepW,
        }).powerCapW,
    );
    expect(Math.abs(whole - eighth)).toBeLessThanOrEqual(1);
  }
});
