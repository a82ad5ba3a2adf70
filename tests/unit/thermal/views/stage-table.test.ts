import { describe, expect, test } from 'vitest';
import { randomRig } from '../../../../datasets-demo/generator/random-rig.js';
import { coolerFromSteadyPoints } from '../../../../toolkit/thermal/cooler-from-steady-points.js';
import type { CoolerModel } from '../../../../toolkit/thermal/cooler-model.js';
import { polesOfLadder } from '../../../../toolkit/thermal/ladder.js';
import { STAGE_RANGES, stageTable } from '../../../../toolkit/thermal/views/stage-table.js';
import { modelWith } from '../known-cooler.js';

/** A model whose time constants are known to a share of themselves, from a run of two hours. */
function modelOf(timeConstantsS: readonly number[], share = 0.03, durationS = 7200): CoolerModel {
  const poles = timeConstantsS.map((timeConstantS) => ({ timeConstantS, resistanceKPerW: 0.1 }));
  const model = modelWith(poles);
  return {
    ...model,
    stages: poles.map(({ timeConstantS, resistanceKPerW }) => ({
      timeConstantS: {
        kind: 'estimated',
        value: timeConstantS,
        standardError: (share * timeConstantS) / 2,
        interval95: [timeConstantS * (1 - share), timeConstantS * (1 + share)],
      },
      resistanceKPerW: {
        kind: 'estimated',
        value: resistanceKPerW,
        standardError: 0.001,
        interval95: [resistanceKPerW - 0.002, resistanceKPerW + 0.002],
      },
    })),
    testedRange: { ...model.testedRange, durationS },
  };
}
const namesOf = (model: CoolerModel): readonly string[] => stageTable(model).map(({ name }) => name);

describe('stages in words', () => {
  test('are named where the time constant lies clearly in one range', () => {
    expect(namesOf(modelOf([0.2, 1, 8, 120]))).toEqual(['die side', 'spreader and contact', 'block', 'fins']);
    expect(namesOf(modelOf([0.2, 1, 8, 600]))).toEqual([
      'die side',
      'spreader and contact',
      'block',
      'liquid',
    ]);
  });

  test('the fastest stands for everything inward of it', () => {
    expect(namesOf(modelOf([8, 120]))).toEqual(['die side to block', 'fins']);
  });

  test('keep a number where the interval leaves the range, between ranges and beyond the run', () => {
    expect(namesOf(modelOf([0.2, 2.95, 120]))).toEqual(['die side', 'stage 2', 'fins']);
    expect(namesOf(modelOf([1, 35]))).toEqual(['die side to spreader and contact', 'stage 2']);
    expect(namesOf(modelOf([8, 600], 0.03, 500))).toEqual(['die side to block', 'stage 2']);
  });

  test('keep a number where two stages lie in one range', () => {
    expect(namesOf(modelOf([8, 60, 150]))).toEqual(['die side to block', 'stage 2', 'stage 3']);
  });

  test('keep a number where the time constant is not identifiable', () => {
    const model = modelOf([8, 120]);
    const unknown = { kind: 'unavailable', reason: 'not-identifiable' } as const;
    const stages = [model.stages[0], { ...model.stages[1], timeConstantS: unknown }];
    expect(namesOf({ ...model, stages })).toEqual(['die side to block', 'stage 2']);
    expect(namesOf({ ...model, stages: [] })).toEqual(['stage 1', 'stage 2']);
  });

  test('come with shares of the resistance that sum to 1', () => {
    const rows = stageTable(modelOf([1, 8, 120]));
    expect(rows.reduce((sum, row) => sum + row.resistanceFraction, 0)).toBeCloseTo(1, 12);
  });

  test('are refused for averages', () => {
    const averages = coolerFromSteadyPoints([{ powerW: 80, temperatureC: 60, ambientC: 22 }]);
    expect(() => stageTable(averages)).toThrow(/a model with stages/);
  });
});

describe('ranges of time constants', () => {
  test('do not overlap and rise', () => {
    STAGE_RANGES.forEach(({ lowS, highS }, i) => {
      expect(lowS).toBeLessThan(highS);
      if (i > 0) expect(lowS).toBeGreaterThanOrEqual(STAGE_RANGES[i - 1].highS);
    });
  });

  test.each(['air', 'liquid'] as const)(
    'never call the slowest stage of 300 random %s coolers by the other kind',
    (kind) => {
      let named = 0;
      for (let seed = 1; seed <= 300; seed++) {
        const poles = polesOfLadder(randomRig({ kind, powerCapW: 80 }, seed).network.nodes);
        const slowest = namesOf(modelOf(poles.map(({ timeConstantS }) => timeConstantS))).at(-1)!;
        expect(slowest).not.toBe(kind === 'air' ? 'liquid' : 'fins');
        if (!slowest.startsWith('stage')) named++;
      }
      // Most are named, if only "fins or liquid".
      expect(named).toBeGreaterThan(240);
    },
  );
});
