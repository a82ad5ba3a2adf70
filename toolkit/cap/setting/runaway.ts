import { NumericalError } from '../../errors.js';
import { leakageSlopeWPerK } from '../../power/predict/leakage-slope.js';
import { slopeAt, temperatureOf } from '../draws/steady-draws.js';
import { operatingPoint } from './operating-state.js';
import type { CapSetting, PreparedCap } from './prepared-cap.js';

/** From this gain of the loop temperature → leakage → temperature on, no steady state is promised. */
export const MOST_LOOP_GAIN_RATIO = 0.8;

/**
 * Throws a `NumericalError` where a load that the cap does not hold back stands near thermal runaway: where dT/dP times
 * what leakage adds per kelvin reaches 0.8, a little less cooling than assumed lets temperature and leakage drive each
 * other up until something else stops them.
 */
export function requireBelowRunaway(prepared: PreparedCap, setting: CapSetting): void {
  const { scenario, caller } = prepared;
  const { topFrequencyMHz } = scenario;
  if (topFrequencyMHz === undefined) return;
  const curves = prepared.curvesAt(setting.voltageOffsetMv);
  prepared.thermalAt(setting.fanSpeedRpm).loads.forEach((load, k) => {
    const { powerW, temperatureC } = operatingPoint(load, setting.powerCapW);
    if (powerW >= setting.powerCapW * (1 - 1e-6)) return; // the cap holds it back
    const leakage = leakageSlopeWPerK(curves[k] ?? curves[0]!, {
      frequencyMHz: topFrequencyMHz,
      temperatureC,
    });
    if (leakage.kind === 'unavailable') return; // a curve without temperature has no such loop
    const slopeKPerW = steadySlope(prepared, setting, k, powerW);
    const gain = slopeKPerW * leakage.value;
    if (gain < MOST_LOOP_GAIN_RATIO) return;
    throw nearRunaway(
      caller,
      gain,
      `${powerW.toFixed(1)} W at ${topFrequencyMHz} MHz and ${temperatureC.toFixed(1)} °C`,
    );
  });
}

/** dT/dP of a load's own cooler, without the cap, K/W. */
function steadySlope(prepared: PreparedCap, setting: CapSetting, index: number, powerW: number): number {
  const draws = prepared.thermalAt(setting.fanSpeedRpm).steady[index];
  let sum = 0;
  for (let i = 0; i < draws.count; i++) sum += slopeAt(draws, i, powerW, temperatureOf(draws, i, powerW));
  return sum / draws.count;
}

/** The refusal, with what to do. */
export function nearRunaway(caller: string, loopGainRatio: number, where: string): NumericalError {
  const gain = Number.isFinite(loopGainRatio)
    ? `a loop gain of ${loopGainRatio.toFixed(2)}`
    : 'no steady state';
  return new NumericalError(
    `${caller}: ${gain} between temperature and leakage, ${where}: from ${MOST_LOOP_GAIN_RATIO} on a little less cooling ends in thermal runaway; ` +
      'set a cap that binds, a lower frequency or voltage, or a better cooler, and leave the thermal protection on',
  );
}
