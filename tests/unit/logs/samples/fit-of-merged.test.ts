import { expect, it } from 'vitest';
import { LogReader } from '../../../../toolkit/logs/read/log-reader.js';
import { runFrom } from '../../../../toolkit/logs/read/parse-run.js';
import { seededRandom } from '../../../../toolkit/numerics/random.js';
import { fitCooler } from '../../../../toolkit/thermal/fit/fit-cooler.js';
import { everyS, knownRun } from '../../thermal/known-cooler.js';

const RESISTANCES_K_PER_W = [0.12, 0.4];
const TIME_CONSTANTS_S = [6, 150];

it('a cooler fitted to merged rows is the cooler that was logged', () => {
  const random = seededRandom(20_311);
  // Ten rows a second; the load steps within a merged sample, and once more.
  const run = knownRun({
    timeS: everyS(0.1, 1200),
    poles: TIME_CONSTANTS_S.map((timeConstantS, k) => ({
      timeConstantS,
      resistanceKPerW: RESISTANCES_K_PER_W[k],
    })),
    startPowerW: 10,
    powerSteps: [
      { atS: 30.3, powerW: 85 },
      { atS: 700.5, powerW: 60 },
    ],
    noiseK: () => 0.2 * random.normal(),
    conditions: { ambientC: 22 },
  });
  const rows = Array.from(run.timeS, (time, i) => `${time},${run.temperatureC[i]},${run.powerW[i]}`);
  const reader = new LogReader({ budgetBytes: 28 * 2000 });
  reader.push(new TextEncoder().encode(`time_s,temperature_c,power_w\n${rows.join('\n')}\n`));
  const merged = runFrom(reader.finish(), { conditions: run.conditions });
  expect(merged.findings.find(({ code }) => code === 'block-means')?.message).toContain('up to 8 rows each');
  const { stages } = fitCooler([merged]);
  expect(stages).toHaveLength(2);
  for (const [k, { resistanceKPerW, timeConstantS }] of stages.entries()) {
    // Three standard errors; and these are small enough to show a power that was put at the wrong time.
    for (const [estimate, truth, share] of [
      [resistanceKPerW, RESISTANCES_K_PER_W[k], 0.01],
      [timeConstantS, TIME_CONSTANTS_S[k], 0.03],
    ] as const) {
      const { value, standardError } = estimate as { value: number; standardError: number };
      expect(standardError).toBeLessThan(share * truth);
      expect(Math.abs(value - truth)).toBeLessThan(3 * standardError);
    }
  }
});
