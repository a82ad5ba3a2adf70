// Coolers on one die as ladders of heat capacities and resistances, simulated by their modes with noise: what joint fits
// are held against.
import { seededRandom } from '../../../toolkit/numerics/random.js';
import { makeRun } from '../../../toolkit/runs/make-run.js';
import type { Run } from '../../../toolkit/runs/run.js';
import type { LadderRung } from '../../../toolkit/thermal/cooler-model.js';
import { simulateLadder } from '../../../toolkit/thermal/simulate-ladder.js';

export const DIE: LadderRung = { heatCapacityJPerK: 40, resistanceKPerW: 0.1 };

export const COOLERS: Readonly<Record<string, LadderRung>> = {
  'flat 41 mm': { heatCapacityJPerK: 220, resistanceKPerW: 0.55 },
  'flat 58 mm': { heatCapacityJPerK: 300, resistanceKPerW: 0.42 },
  'tower 88 mm': { heatCapacityJPerK: 700, resistanceKPerW: 0.2 },
};

export const DRAWER: LadderRung = { heatCapacityJPerK: 1500, resistanceKPerW: 0.1 };

const IDLE_W = 12;
const ROOM_C = 22;

/** A run at 1 Hz from equilibrium at idle to the load after a minute; noise of 0.25 K. */
export function ladderRun(input: {
  readonly cooler: string;
  readonly seed: number;
  readonly powerW?: number;
  readonly enclosure?: string;
  readonly die?: LadderRung;
  readonly durationS?: number;
  readonly mount?: string;
}): Run {
  const { cooler, seed, powerW = 90, enclosure = 'open bench', die = DIE, durationS = 1200 } = input;
  const random = seededRandom(seed);
  const ladder = [die, COOLERS[cooler], ...(enclosure === 'open bench' ? [] : [DRAWER])];
  const timeS = Array.from({ length: durationS + 1 }, (_, i) => i);
  const load = timeS.map((t) => (t <= 60 ? IDLE_W : powerW + 0.5 * random.normal()));
  const startC = ladder.map(
    (_, k) =>
      ROOM_C + IDLE_W * ladder.slice(k).reduce((sum, { resistanceKPerW }) => sum + resistanceKPerW, 0),
  );
  const [dieC] = simulateLadder(ladder, { timeS, powerW: load, ambientC: ROOM_C, startC });
  return makeRun(
    {
      timeS,
      powerW: load,
      temperatureC: dieC.map((temperature) => temperature + 0.25 * random.normal()),
      ambientC: timeS.map(() => ROOM_C),
    },
    {
      label: `${cooler}, ${enclosure}, ${powerW} W, ${seed}`,
      conditions: { cooler, enclosure, ...(input.mount === undefined ? {} : { mount: input.mount }) },
    },
  );
}
