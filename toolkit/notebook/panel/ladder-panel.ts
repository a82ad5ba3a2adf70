import { lightPalette } from '../../figures/palette.js';
import { levelLine, panelFigure } from '../../figures/panels.js';
import { formatNumber } from '../../numerics/format-estimate.js';
import { stillPicture } from '../../report/still/still-picture.js';
import type { LadderRung } from '../../thermal/cooler-model.js';
import { polesOfLadder } from '../../thermal/ladder.js';
import { simulateLadder } from '../../thermal/simulate-ladder.js';
import {
  onItsSteps,
  type PanelAnswer,
  type PanelControl,
  type PanelModel,
  type PanelSetting,
} from './panel-model.js';

/** A ladder to drag: heat capacities and resistances from the die outward, a power that is switched on, the air. */
export interface LadderPanelData {
  readonly panel: 'ladder';
  readonly ladder: readonly LadderRung[];
  readonly powerW: number;
  readonly ambientC: number;
  readonly durationS: number;
}

const { red, quiet } = lightPalette;
const pointCount = 240;
const pictureWidthPx = 640;

/** The panel of a ladder: the course of the die after the power is switched on. */
export function ladderPanelModel(data: LadderPanelData): PanelModel {
  const stageCount = data.ladder.length;
  return {
    title: `${stageCount === 1 ? 'One heat capacity, one resistance' : `${stageCount} heat capacities and resistances`}: what does the die do?`,
    controls: controlsOf(data),
    missing: [],
    jumps: [],
    answer: (setting) => answerTo(setting, stageCount, data.durationS),
  };
}

function controlsOf({ ladder, powerW, ambientC }: LadderPanelData): readonly PanelControl[] {
  const single = ladder.length === 1;
  const place = (index: number): string =>
    single ? '' : index === 0 ? ', die side' : ` ${index + 1} outward`;
  const controls: readonly PanelControl[] = [
    ...ladder.flatMap(({ heatCapacityJPerK, resistanceKPerW }, i) => [
      {
        name: `heatCapacity${i}JPerK`,
        label: `Heat capacity${place(i)}`,
        unit: 'J/K',
        low: 1,
        high: Math.max(600, 2 * heatCapacityJPerK),
        step: 1,
        value: heatCapacityJPerK,
      },
      {
        name: `resistance${i}KPerW`,
        label: `Resistance${place(i)}`,
        unit: 'K/W',
        low: 0.01,
        high: Math.max(1, 2 * resistanceKPerW),
        step: 0.01,
        value: resistanceKPerW,
      },
    ]),
    {
      name: 'powerW',
      label: 'Power',
      unit: 'W',
      low: 5,
      high: Math.max(150, powerW),
      step: 1,
      value: powerW,
    },
    {
      name: 'ambientC',
      label: 'Air',
      unit: '°C',
      low: Math.min(0, ambientC),
      high: Math.max(45, ambientC),
      step: 0.5,
      value: ambientC,
    },
  ];
  return controls.map(onItsSteps);
}

function answerTo(setting: PanelSetting, stageCount: number, durationS: number): PanelAnswer {
  const ladder: readonly LadderRung[] = Array.from({ length: stageCount }, (_, i) => ({
    heatCapacityJPerK: setting[`heatCapacity${i}JPerK`],
    resistanceKPerW: setting[`resistance${i}KPerW`],
  }));
  const powerW = setting['powerW'];
  const ambientC = setting['ambientC'];
  const timesS = polesOfLadder(ladder).map(({ timeConstantS }) => timeConstantS);
  const totalKPerW = ladder.reduce((sum, { resistanceKPerW }) => sum + resistanceKPerW, 0);
  const steadyC = ambientC + powerW * totalKPerW;
  const timeS = Array.from({ length: pointCount }, (_, i) => (durationS * i) / (pointCount - 1));
  const [dieC] = simulateLadder(ladder, { timeS, powerW: timeS.map(() => powerW), ambientC });
  const settledS = timeUntilNear(timeS, dieC, steadyC);
  const times = timesS.map((value) => formatNumber(value, 's')).join(', ');
  const settled =
    settledS === undefined ? `more than ${formatNumber(durationS, 's')}` : `${formatNumber(settledS, 's')}`;
  return {
    readings: [
      { name: 'steadyTemperatureC', label: 'Settles at', text: `${steadyC.toFixed(1)} °C` },
      { name: 'timeConstantsS', label: stageCount === 1 ? 'Time constant' : 'Time constants', text: times },
      { name: 'settledS', label: 'Within 1 K of that after', text: settled },
    ],
    cautions: [],
    sentence: `With ${formatNumber(powerW, 'W')} the die settles at ${steadyC.toFixed(1)} °C; ${stageCount === 1 ? 'time constant' : 'time constants'} ${times}.`,
    picture: pictureOf({ timeS, dieC: dieC, steadyC, ambientC, powerW, durationS, settledS }),
    code: `kpw.exploreLadder(${JSON.stringify(ladder)}, { powerW: ${powerW}, ambientC: ${ambientC}, durationS: ${durationS} })`,
  };
}

/** From when on the die is within a kelvin of where it settles, s. */
function timeUntilNear(
  timeS: readonly number[],
  dieC: ArrayLike<number>,
  steadyC: number,
): number | undefined {
  for (let i = timeS.length - 1; i > 0; i--) {
    const missingK = steadyC - dieC[i];
    if (missingK <= 1) continue;
    if (i === timeS.length - 1) return undefined;
    const before = missingK;
    const after = steadyC - dieC[i + 1];
    return timeS[i] + ((timeS[i + 1] - timeS[i]) * Math.log(before)) / Math.log(before / after);
  }
  return timeS[0];
}

function pictureOf(drawn: {
  readonly timeS: readonly number[];
  readonly dieC: ArrayLike<number>;
  readonly steadyC: number;
  readonly ambientC: number;
  readonly powerW: number;
  readonly durationS: number;
  readonly settledS: number | undefined;
}): string {
  const { timeS, dieC, steadyC, ambientC, powerW, durationS, settledS } = drawn;
  const xRange = [0, durationS] as const;
  const settles =
    settledS === undefined
      ? 'has not settled by the end'
      : `is within 1 K of it after ${formatNumber(settledS, 's')}`;
  return stillPicture(
    panelFigure({
      title: `The die goes to ${steadyC.toFixed(1)} °C and ${settles}`,
      subtitle: `${formatNumber(powerW, 'W')} switched on at 0 s; air of ${formatNumber(ambientC, '°C')}.`,
      description: 'Temperature of the die over time.',
      xTitle: 'Time since the power was switched on, s',
      xRange,
      heightPx: 260,
      hovermode: 'x',
      panels: [
        {
          yTitle: 'Die, °C',
          weight: 1,
          range: [ambientC - 2, Math.max(ambientC + 10, steadyC + 4)],
          traces: [
            {
              type: 'scatter',
              mode: 'lines',
              name: 'die',
              x: timeS,
              y: Array.from(dieC),
              line: { color: red, width: 2.4 },
            },
          ],
          shapes: [levelLine(steadyC, xRange, quiet)],
          endLabels: [{ text: `${steadyC.toFixed(1)} °C`, y: steadyC, color: quiet }],
        },
      ],
    }),
    { widthPx: pictureWidthPx },
  );
}
