// What the model of the fit leaves out is simulated exactly here, by a network of its own: a convection that improves as
// its heat capacity warms, and a board. The fit is off by that; the shift must say by how much.
import { describe, expect, test } from 'vitest';
import { seededRandom } from '../../../../toolkit/numerics/random.js';
import { makeRun } from '../../../../toolkit/runs/make-run.js';
import type { Run } from '../../../../toolkit/runs/run.js';
import { fitOneCooler } from '../../../../toolkit/thermal/fit/fit-one-cooler.js';
import { unmodelledShift } from '../../../../toolkit/thermal/fit/unmodelled-shift.js';

const EXPONENT = 0.08;
const REFERENCE_W = 75;
const FAST = { timeConstantS: 6, resistanceKPerW: 0.1 };
const SLOW = { timeConstantS: 200, resistanceKPerW: 0.4 };
const BENT_K_PER_W = FAST.resistanceKPerW + SLOW.resistanceKPerW;
/** As the shift takes it. */
const BOARD = { timeConstantS: 900, resistanceKPerW: 0.0038 * BENT_K_PER_W };

/** Euler steps of 0.05 s: of 200 s that is a ten-thousandth. */
const STEP_S = 0.05;
const IDLE_W = 10;

function runAt(powerW: number, loadS: number, withBoard: boolean, noiseSeed: number): Run {
  const random = seededRandom(noiseSeed);
  const bendOf = (x: number): number => x * ((x / REFERENCE_W) ** -EXPONENT - 1);
  let [fast, slow, board, bend] = [IDLE_W, IDLE_W, IDLE_W, bendOf(IDLE_W)];
  const timeS: number[] = [];
  const powers: number[] = [];
  const temperatureC: number[] = [];
  for (let t = 0; t <= 60 + loadS; t++) {
    const power = t <= 60 ? IDLE_W : powerW;
    for (let part = 0; t > 0 && part < Math.round(1 / STEP_S); part++) {
      fast += (STEP_S / FAST.timeConstantS) * (power - fast);
      bend += (STEP_S / SLOW.timeConstantS) * (bendOf(slow) - bend);
      slow += (STEP_S / SLOW.timeConstantS) * (power - slow);
      board += (STEP_S / BOARD.timeConstantS) * (power - board);
    }
    timeS.push(t);
    powers.push(power);
    temperatureC.push(
      22 +
        FAST.resistanceKPerW * fast +
        SLOW.resistanceKPerW * slow +
        BENT_K_PER_W * bend +
        (withBoard ? BOARD.resistanceKPerW * board : 0) +
        0.05 * random.normal(),
    );
  }
  return makeRun(
    { timeS, powerW: powers, temperatureC },
    { label: `${powerW} W`, conditions: { ambientC: 22 } },
  );
}

/** Total resistance and exponent as fitted, and by how much the shift moves them. */
function fitOf(runs: readonly Run[], powerExponent?: number) {
  const { finished } = fitOneCooler(
    runs,
    {
      maxStageCount: 2,
      stageCount: 2,
      sensorLag: false,
      atPowerW: REFERENCE_W,
      fitFanSpeed: false,
      ...(powerExponent === undefined ? {} : { powerExponent }),
    },
    'test',
  );
  const { chosen } = finished.table;
  const shift = unmodelledShift(finished.record, chosen, finished.sampleWeights);
  const { count, exponentIndex } = chosen.layout;
  return {
    totalKPerW: chosen.resistancesKPerW.reduce((sum, resistance) => sum + resistance, 0),
    totalShiftKPerW: shift[count] + shift[count + 1],
    exponent: chosen.powerExponent,
    exponentShift: exponentIndex < 0 ? 0 : shift[exponentIndex],
  };
}

describe('what the fit leaves out', () => {
  test.each([300, 600])('of a second power that lasted %d s: the shift makes good most of it', (loadS) => {
    const fit = fitOf([runAt(60, 1500, true, 1), runAt(95, loadS, true, 2)]);
    const truthKPerW = BENT_K_PER_W + BOARD.resistanceKPerW;
    const exponentOff = fit.exponent - EXPONENT;
    // Wrong by far more than noise alone would make it …
    expect(exponentOff).toBeLessThan(-0.008);
    // … and put right to a quarter of that, to first order.
    expect(Math.abs(exponentOff + fit.exponentShift)).toBeLessThan(0.25 * Math.abs(exponentOff));
    // Steady rise at the power of the short run: what is asked of such a pair.
    const riseK = (totalKPerW: number, exponent: number): number =>
      95 * totalKPerW * (95 / REFERENCE_W) ** -exponent;
    const truthK = riseK(BENT_K_PER_W, EXPONENT) + 95 * BOARD.resistanceKPerW;
    const offK = riseK(fit.totalKPerW, fit.exponent) - truthK;
    const shiftedK = riseK(fit.totalKPerW + fit.totalShiftKPerW, fit.exponent + fit.exponentShift) - truthK;
    expect(offK).toBeGreaterThan(0.2);
    expect(Math.abs(shiftedK)).toBeLessThan(0.35 * offK);
    expect(truthKPerW).toBeGreaterThan(BENT_K_PER_W);
  });

  test('of one power: the total is put right too', () => {
    const fit = fitOf([runAt(75, 900, false, 3)], EXPONENT);
    const off = fit.totalKPerW - BENT_K_PER_W;
    // The board that is not there is the rest: a tenth of a per cent or two.
    expect(Math.abs(off + fit.totalShiftKPerW)).toBeLessThan(0.0025 * BENT_K_PER_W);
    expect(fit.totalShiftKPerW).toBeLessThan(0);
  });

  test('is the board alone where nothing bends, and nothing is moved by more than its resistance', () => {
    const { totalShiftKPerW } = fitOf([runAt(75, 1500, true, 4)], 0);
    expect(totalShiftKPerW).toBeGreaterThan(0);
    expect(totalShiftKPerW).toBeLessThan(BOARD.resistanceKPerW);
  });
});
