import { expect, test } from 'vitest';
import { drawSteady, type SteadyDraws } from '../../../../toolkit/cap/draws/steady-draws.js';
import type { CapScenario } from '../../../../toolkit/cap/scenario/cap-scenario.js';
import { settleScenario } from '../../../../toolkit/cap/scenario/settle-scenario.js';
import { plainCooler } from '../plain-cooler.js';
import { plainFanCurve } from '../worked-curve.js';

const fanCurve = plainFanCurve();
const cooler = plainCooler(
  { powerExponent: 0.08, exponentStandardError: 0.02, resistanceStandardErrorKPerW: 0.015 },
  { fanSpeedRpm: 1500 },
);
/** So uncertain that some resistances are drawn below 0. */
const doubtful = plainCooler({ resistanceStandardErrorKPerW: 0.25, degreesOfFreedom: 1000 });

const open: CapScenario = { limitC: 80, ambientC: { low: 20, high: 30 }, drawCount: 256 };
const riseK = { mean: 8, standardDeviation: 2 };
const scenarios: readonly CapScenario[] = [
  open,
  { ...open, ambientC: 25 },
  { ...open, ambientC: { mean: 25, standardDeviation: 2 } },
  { ...open, enclosure: { riseK } },
  { ...open, enclosure: { riseK, atPowerW: 80 } },
  { ...open, enclosure: { riseK, atPowerW: 90 } },
  { ...open, enclosure: { riseK: { ...riseK, standardDeviation: 5 }, atPowerW: 90 } },
  { ...open, ambientC: 25, enclosure: { riseK: 6, atPowerW: 90 } },
  { ...open, fan: { curve: fanCurve } },
  { ...open, drawCount: 512 },
];

function drawn(scenario: CapScenario): readonly SteadyDraws[] {
  const settled = settleScenario(scenario, 'test', { throughput: false, fanCurve });
  return [[cooler], [doubtful], [cooler, doubtful]].flatMap((coolers) =>
    drawSteady(coolers, settled, 'test'),
  );
}

test('what is kept of earlier draws changes no later ones, in whatever order scenarios are asked', () => {
  // Other seeds push everything out that is kept.
  const alone = scenarios.map((scenario) => {
    for (let seed = 1; seed <= 8; seed++) drawn({ ...open, seed });
    return structuredClone(drawn(scenario));
  });
  expect(alone[0][1].count).toBeLessThan(alone[0][0].count);
  expect(alone[0][2].count).toBe(alone[0][1].count);
  for (const step of [1, 3, 7])
    for (let k = 0; k < scenarios.length; k++) {
      const at = (k * step) % scenarios.length;
      expect([at, drawn(scenarios[at])]).toEqual([at, alone[at]]);
    }
});
