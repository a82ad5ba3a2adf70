import { effectiveShare } from '../../power/curve-voltage.js';
import type { PowerCurve } from '../../power/power-curve.js';
import type { SettledScenario } from '../scenario/cap-scenario.js';

/**
 * The settable offsets of which one may be the best, the shallowest first; one entry where there is no choice.
 *
 * Less voltage gives more frequency at any power and temperature. An offset is therefore left out where a deeper one loses
 * no more of the work per cycle, with any load's curve; but for the shallowest, which is kept where depth gains nothing.
 * With a top frequency depth gains nothing from some offset on: none is left out.
 */
export function settableOffsets(
  { voltageOffset, topFrequencyMHz }: Pick<SettledScenario, 'voltageOffset' | 'topFrequencyMHz'>,
  curves: readonly (PowerCurve | undefined)[],
): readonly (number | undefined)[] {
  if (voltageOffset === undefined) return [undefined];
  const { lowestMv, highestMv, stepMv } = voltageOffset;
  const count = Math.floor((highestMv - lowestMv) / stepMv + 1e-9);
  const ofUse: number[] = [];
  let most: readonly number[] = curves.map(() => 0); // of the deeper ones, what counts as work at the most
  for (let k = count; k >= 0; k--) {
    const offsetMv = Number((highestMv - k * stepMv).toPrecision(12));
    const shares = curves.map((curve) =>
      curve?.voltage === undefined ? 1 : effectiveShare({ ...curve.voltage, offsetMv }).ratio,
    );
    const mayGain = shares.some((share, c) => share > most[c]);
    if (k === 0 || mayGain || topFrequencyMHz !== undefined) ofUse.push(offsetMv);
    most = shares.map((share, c) => Math.max(share, most[c]));
  }
  return ofUse.reverse();
}
