import { effectiveShare } from '../../power/curve-voltage.js';
import type { PowerCurve } from '../../power/power-curve.js';
import type { SettledScenario } from '../scenario/cap-scenario.js';

/**
 * The settable offsets of which one may be the best, the shallowest first; one entry where there is no choice.
 *
 * Less voltage gives more frequency at any power and temperature. An offset is therefore left out where a deeper one loses
 * no more of the work per cycle, with any load's curve; but for the shallowest, which is kept where depth gains nothing.
 */
export function settableOffsets(
  offset: SettledScenario['voltageOffset'],
  curves: readonly (PowerCurve | undefined)[],
): readonly (number | undefined)[] {
  if (offset === undefined) return [undefined];
  const { lowestMv, highestMv, stepMv } = offset;
  const count = Math.floor((highestMv - lowestMv) / stepMv + 1e-9);
  const ofUse: number[] = [];
  let most: readonly number[] = curves.map(() => 0); // of the deeper ones, what counts as work at the most
  for (let k = count; k >= 0; k--) {
    const offsetMv = Number((highestMv - k * stepMv).toPrecision(12));
    const shares = curves.map((curve) =>
      curve?.voltage === undefined ? 1 : effectiveShare({ ...curve.voltage, offsetMv }).ratio,
    );
    if (k === 0 || shares.some((share, c) => share > most[c])) ofUse.push(offsetMv);
    most = shares.map((share, c) => Math.max(share, most[c]));
  }
  return ofUse.reverse();
}
