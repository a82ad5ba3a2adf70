import { describe, expect, it } from 'vitest';
import { coolerFromSteadyPoints } from '../../../toolkit/thermal/cooler-from-steady-points.js';
import type { CoolerModel } from '../../../toolkit/thermal/cooler-model.js';
import { enclosureBetween } from '../../../toolkit/thermal/enclosure-between.js';

function modelIn(enclosure: string, temperatureC: number, cooler = 'flat 58 mm'): CoolerModel {
  return coolerFromSteadyPoints([{ powerW: 80, temperatureC, ambientC: 24 }], {
    cooler,
    enclosure,
    temperatureUncertaintyK: 0.4,
  });
}

describe('enclosureBetween', () => {
  it('gives resistance and rise with the uncertainties of both fits', () => {
    const measured = enclosureBetween(modelIn('open bench', 64), modelIn('drawer', 72));
    expect(measured.atPowerW).toBeCloseTo(80, 9);
    expect(measured.riseK).toMatchObject({ kind: 'estimated', extrapolated: false });
    // Two independent standard uncertainties of 0.4 K.
    expect(measured.scenario.riseK.mean).toBeCloseTo(8, 9);
    expect(measured.scenario.riseK.standardDeviation).toBeCloseTo(0.4 * Math.SQRT2, 9);
    expect(measured.thermalResistanceKPerW).toMatchObject({ kind: 'estimated' });
    expect(measured.thermalResistanceKPerW.value).toBeCloseTo(0.1, 9);
  });

  it('refuses models that do not belong together, and air taken in the wrong place', () => {
    const bench = modelIn('open bench', 64);
    expect(() => enclosureBetween(bench, modelIn('drawer', 72, 'tower 88 mm'))).toThrow(
      /`inEnclosure` must be a model of the cooler of the bench runs \(flat 58 mm\) \(received "tower 88 mm"\)/,
    );
    expect(() => enclosureBetween(bench, modelIn('open bench', 72))).toThrow(
      /must be a model from another enclosure/,
    );
    expect(() => enclosureBetween(bench, modelIn('drawer', 58))).toThrow(
      /give the room as the air of the enclosure runs, not the air at the intake inside the enclosure/,
    );
    expect(() => enclosureBetween(bench, modelIn('drawer', 72), { atPowerW: 0 })).toThrow(
      /`options.atPowerW` must be/,
    );
  });
});
