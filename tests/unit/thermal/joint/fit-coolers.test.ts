import { describe, expect, test } from 'vitest';
import type { Estimate, EstimatedNumber } from '../../../../toolkit/numerics/estimate.js';
import { makeRun } from '../../../../toolkit/runs/make-run.js';
import { compareCoolers } from '../../../../toolkit/thermal/compare/compare-coolers.js';
import { fitCooler } from '../../../../toolkit/thermal/fit/fit-cooler.js';
import { fitCoolers } from '../../../../toolkit/thermal/joint/fit-coolers.js';
import { polesOfLadder } from '../../../../toolkit/thermal/ladder.js';
import { COOLERS, DIE, DRAWER, ladderRun } from '../known-ladders.js';

const NAMES = Object.keys(COOLERS);
const OPTIONS = { powerExponent: 0, maxStageCount: 3 };

function known(estimate: Estimate | undefined): EstimatedNumber {
  if (estimate?.kind !== 'estimated') throw new Error('no estimate');
  return estimate;
}

const holds = (estimate: Estimate | undefined, truth: number): boolean =>
  estimate?.kind === 'estimated' && estimate.interval95[0] <= truth && truth <= estimate.interval95[1];

describe('several coolers on one processor', () => {
  const TRIALS = 10;
  const fits = Array.from({ length: TRIALS }, (_, trial) => {
    const runs = NAMES.map((cooler, c) => ladderRun({ cooler, seed: 7000 + 10 * trial + c }));
    return {
      joint: fitCoolers(runs, { ...OPTIONS, sharedStageCount: 1 }),
      separate: runs.map((run) => fitCooler(run, OPTIONS)),
    };
  });

  test('the die comes out as it is, and its interval holds it', () => {
    // Two quantities in ten trials: with a true 95 %, fewer than 16 of 20 happen once in 400.
    const held = fits.flatMap(({ joint: { shared } }) => [
      holds(shared.rungs[0].heatCapacityJPerK, DIE.heatCapacityJPerK),
      holds(shared.rungs[0].resistanceKPerW, DIE.resistanceKPerW),
    ]);
    expect(held.filter(Boolean).length).toBeGreaterThanOrEqual(16);
    for (const { joint } of fits) {
      expect(joint.shared.rungs).toHaveLength(1);
      expect(known(joint.shared.rungs[0].heatCapacityJPerK).standardError).toBeLessThan(2);
      expect(known(joint.shared.rungs[0].resistanceKPerW).standardError).toBeLessThan(0.002);
    }
  });

  test('the die side is known better than from separate fits, and no interval misses more often', () => {
    const held = { fast: 0, resistance: 0, total: 0 };
    let narrower = 0;
    let count = 0;
    const departures = { joint: 0, separate: 0 };
    for (const { joint, separate } of fits) {
      joint.models.forEach((model, c) => {
        const truth = polesOfLadder([DIE, COOLERS[NAMES[c]]]);
        const alone = separate[c];
        count++;
        if (holds(model.thermalResistanceKPerW, DIE.resistanceKPerW + COOLERS[NAMES[c]].resistanceKPerW))
          held.total++;
        if (holds(model.stages[0].timeConstantS, truth[0].timeConstantS)) held.fast++;
        if (holds(model.stages[0].resistanceKPerW, truth[0].resistanceKPerW)) held.resistance++;
        if (model.stages.length !== 2 || alone.stages.length !== 2) return;
        const [mine, theirs] = [model, alone].map(({ stages }) => known(stages[0].timeConstantS));
        if (mine.standardError < theirs.standardError) narrower++;
        departures.joint += (mine.value - truth[0].timeConstantS) ** 2;
        departures.separate += (theirs.value - truth[0].timeConstantS) ** 2;
      });
    }
    expect(narrower).toBeGreaterThanOrEqual(0.9 * count);
    // Three coolers: the variance falls to a third, but not by the same for each.
    expect(departures.joint).toBeLessThan(0.7 * departures.separate);
    // Thirty intervals of each kind: with a true 95 %, fewer than 25 happen once in 300.
    for (const kept of Object.values(held)) expect(kept).toBeGreaterThanOrEqual(25);
  });

  test('the data choose to share what is one, and models state what they have in common', () => {
    const runs = NAMES.map((cooler, c) => ladderRun({ cooler, seed: 7100 + c }));
    const joint = fitCoolers(runs, OPTIONS);
    const chosen = joint.candidates.find((candidate) => candidate.chosen);
    expect(chosen?.sharedStageCount).toBe(1);
    expect(joint.candidates.reduce((sum, { weight }) => sum + weight, 0)).toBeCloseTo(1, 9);
    expect(joint.findings).toEqual([]);
    expect(joint.models.map(({ label }) => label)).toEqual(NAMES);
    joint.models.forEach((model) => {
      expect(model.ladder[0].heatCapacityJPerK).toBeCloseTo(
        known(joint.shared.rungs[0].heatCapacityJPerK).value,
        6,
      );
      expect(model.orders.find((order) => order.chosen)?.sharedStageCount).toBe(1);
      expect(model.correlations?.map(({ label }) => label)).toEqual(
        NAMES.filter((name) => name !== model.label),
      );
      for (const { correlation } of model.correlations ?? []) {
        // One thermometer of the room: what is wrong with it is wrong with all.
        expect(correlation).toBeGreaterThan(0);
        expect(correlation).toBeLessThan(1);
      }
    });
    // What they have in common cancels in their differences.
    const apart = joint.models.map(({ correlations: _, ...model }) => model);
    const [together, alone] = [joint.models, apart].map(
      (models) => compareCoolers(models, { powerW: 90, mountAllowanceFraction: 0 }).pairs[0],
    );
    expect(known(together.differenceKPerW).standardError).toBeLessThan(
      known(alone.differenceKPerW).standardError,
    );
    const size = joint.covariance.parameters.length;
    expect(joint.covariance.matrix).toHaveLength(size);
    expect(joint.covariance.parameters).toContain('logHeatCapacityJPerK[1]');
    expect(joint.covariance.parameters).toContain('tower 88 mm: logRungResistanceKPerW[2]');
  });

  test('what is not one is not shared: a finding says so, and the models are those of separate fits', () => {
    const runs = NAMES.map((cooler, c) =>
      ladderRun({
        cooler,
        seed: 7200 + c,
        die: { heatCapacityJPerK: DIE.heatCapacityJPerK, resistanceKPerW: [0.06, 0.1, 0.15][c] },
      }),
    );
    const joint = fitCoolers(runs, OPTIONS);
    expect(joint.candidates.find((candidate) => candidate.chosen)?.sharedStageCount).toBe(0);
    expect(joint.findings.map(({ code }) => code)).toEqual(['die-side-not-shared']);
    expect(joint.findings[0].message).toMatch(/separate ones describe them better/);
    expect(joint.shared.rungs).toEqual([]);
    joint.models.forEach((model, c) => {
      expect(model.thermalResistanceKPerW).toEqual(fitCooler(runs[c], OPTIONS).thermalResistanceKPerW);
    });
  });

  test('stages below a boundary are shared where it is given', () => {
    const runs = NAMES.slice(1).map((cooler, c) => ladderRun({ cooler, seed: 7300 + c }));
    const shared = (sharedBelowS: number): number =>
      fitCoolers(runs, { ...OPTIONS, sharedBelowS }).shared.rungs.length;
    expect(shared(30)).toBe(1);
    expect(shared(1)).toBe(0);
  });
});

describe('an enclosure beside the bench', () => {
  const runsOf = (seed: number) => [
    ladderRun({ cooler: 'flat 58 mm', seed, powerW: 90 }),
    ladderRun({ cooler: 'flat 58 mm', seed: seed + 1, powerW: 65 }),
    ladderRun({ cooler: 'flat 58 mm', seed: seed + 2, powerW: 80, enclosure: 'drawer', durationS: 1800 }),
  ];

  test('its resistance, rise and heat capacity come out with intervals that hold', () => {
    const trials = Array.from({ length: 6 }, (_, i) =>
      fitCoolers(runsOf(8000 + 3 * i), { maxStageCount: 2 }),
    );
    let held = 0;
    for (const { enclosures, models } of trials) {
      expect(enclosures).toHaveLength(1);
      const [{ enclosure, thermalResistanceKPerW, riseK, heatCapacityJPerK, atPowerW, scenario }] =
        enclosures;
      expect(enclosure).toBe('drawer');
      expect(atPowerW).toBeCloseTo(80, 0);
      if (holds(thermalResistanceKPerW, DRAWER.resistanceKPerW)) held++;
      expect(Math.abs(known(riseK).value - 8)).toBeLessThan(0.15);
      expect(scenario.riseK.mean).toBe(known(riseK).value);
      expect(Math.abs(known(heatCapacityJPerK).value / DRAWER.heatCapacityJPerK - 1)).toBeLessThan(0.08);
      expect(models).toHaveLength(1);
      expect(models[0].enclosure).toBe('open bench');
      expect(holds(models[0].thermalResistanceKPerW, 0.52)).toBe(true);
    }
    expect(held).toBeGreaterThanOrEqual(5);
  });

  test('is one for all coolers in it', () => {
    const runs = [
      ...runsOf(8100),
      ladderRun({ cooler: 'tower 88 mm', seed: 8110 }),
      ladderRun({ cooler: 'tower 88 mm', seed: 8111, enclosure: 'drawer', durationS: 1800 }),
    ];
    const { enclosures, models, candidates } = fitCoolers(runs, { ...OPTIONS, maxStageCount: 2 });
    expect(enclosures).toHaveLength(1);
    expect(holds(enclosures[0].thermalResistanceKPerW, DRAWER.resistanceKPerW)).toBe(true);
    expect(models.map(({ label }) => label)).toEqual(['flat 58 mm', 'tower 88 mm']);
    expect(candidates.map(({ sharedStageCount }) => sharedStageCount)).toEqual([0, 1]);
  });

  test('that warms nothing is a finding: the air given was that at the intake', () => {
    const [first, second] = runsOf(8200);
    const inside = ladderRun({ cooler: 'flat 58 mm', seed: 8207, powerW: 80, durationS: 1800 });
    const misnamed = { ...inside, conditions: { ...inside.conditions, enclosure: 'drawer' } };
    const { enclosures, findings } = fitCoolers([first, second, misnamed], { maxStageCount: 2 });
    expect(enclosures).toEqual([]);
    expect(findings.map(({ code }) => code)).toEqual(['enclosure-without-effect']);
    expect(findings[0].remedy).toMatch(/give the room as the air/);
  });
});

describe('what fitCoolers refuses', () => {
  const one = ladderRun({ cooler: 'flat 58 mm', seed: 1 });
  const other = ladderRun({ cooler: 'tower 88 mm', seed: 2 });

  test('says what to do', () => {
    const nameless = makeRun(other, { label: 'nameless', conditions: {} });
    expect(() => fitCoolers([one, nameless])).toThrow(
      /^fitCoolers: `runs` must be runs that all name their cooler, or none \(received "run \\"nameless\\"/,
    );
    const boxed = { ...other, conditions: { ...other.conditions, enclosure: 'drawer' } };
    expect(() => fitCoolers([one, boxed])).toThrow(
      /runs of "tower 88 mm" on the open bench beside those in "drawer"/,
    );
    const elsewhere = { ...other, conditions: { ...other.conditions, processor: 'another' } };
    const here = { ...one, conditions: { ...one.conditions, processor: 'one' } };
    expect(() => fitCoolers([here, elsewhere])).toThrow(/`runs` must be runs with one processor/);
    expect(() => fitCoolers([one, other], { sharedStageCount: 4 })).toThrow(
      /^fitCoolers: `options.sharedStageCount` must be 0, 1, 2 or 3/,
    );
    expect(() => fitCoolers([one, other], { sharedBelowS: 0 })).toThrow(/`options.sharedBelowS` must be/);
    expect(() => fitCoolers([one, one])).toThrow(/a run of its own/);
    expect(() => fitCoolers([])).toThrow(/`runs` must be one run or more/);
  });
});
