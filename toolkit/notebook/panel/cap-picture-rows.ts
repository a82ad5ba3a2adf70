import { spreadOf } from '../../cap/draws/temperature-against-cap.js';
import type { CapScenario } from '../../cap/scenario/cap-scenario.js';
import { liesWithinReach } from '../../cap/setting/cap-reach.js';
import { prepareCap } from '../../cap/setting/prepared-cap.js';
import { createWorkspace } from '../../numerics/workspace.js';
import type { CapPanelData } from './cap-panel-controls.js';
import type { CapPictureRow } from './cap-picture.js';
import type { PanelControl } from './panel-model.js';

/** Caps along the picture. */
const CAP_COUNT = 13;
/** A picture needs fewer draws than a decision: its band differs by hundredths of a kelvin. */
const LEAST_DRAWS = 512;
/** So many draws, or more, lie beyond the confidence asked for. */
const DRAWS_BEYOND = 10;

/** Temperatures along the range of the cap's control: in a scenario, at a fan speed where one is set. */
export function capPictureRows(
  { cooler, curve }: CapPanelData,
  { low, high }: PanelControl,
): (scenario: CapScenario, fanSpeedRpm: number | undefined) => readonly CapPictureRow[] {
  const capsW = Array.from(
    { length: CAP_COUNT },
    (_, i) => low + ((high - low) * i) / (CAP_COUNT - 1),
  ).filter((capW) => capW > 0 && liesWithinReach(cooler, capW));
  const workspace = createWorkspace();
  return (scenario, fanSpeedRpm) => {
    const { confidence = 0.95 } = scenario;
    const drawCount = Math.max(LEAST_DRAWS, 2 ** Math.ceil(Math.log2(DRAWS_BEYOND / (1 - confidence))));
    const { binding } = prepareCap(cooler, curve, { ...scenario, drawCount }, 'explore').thermalAt(
      fanSpeedRpm,
    );
    const temperaturesC = workspace.take(binding.count);
    const rows = capsW.map((powerCapW): CapPictureRow => {
      binding.temperaturesAt(powerCapW, temperaturesC);
      const { meanC, lowC, highC, atConfidenceC } = spreadOf(temperaturesC, binding.count, confidence);
      return {
        powerCapW,
        temperatureC: meanC,
        temperatureInterval95C: [lowC, highC],
        atConfidenceC,
      };
    });
    workspace.release();
    return rows;
  };
}
