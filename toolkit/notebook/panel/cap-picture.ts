import { lightPalette } from '../../figures/palette.js';
import { bandOutline, levelLine, panelFigure, roomAround } from '../../figures/panels.js';
import { formatNumber } from '../../numerics/format-estimate.js';
import { stillPicture } from '../../report/still/still-picture.js';

/** Temperature at one cap. */
export interface CapPictureRow {
  readonly powerCapW: number;
  readonly temperatureC: number;
  readonly temperatureInterval95C: readonly [low: number, high: number];
  readonly atConfidenceC: number;
}

const { ink, red, redBand, blue, quiet } = lightPalette;
const widthPx = 640;

/** Steps that the ends of the temperature axis keep to, K: while an input is dragged the axis mostly stands still. */
const axisStepK = 10;

/**
 * Steady temperature against cap with its band, the limit, the setting and the recommended cap, as an SVG drawing. It spans
 * the caps of its rows, whatever cap is set: the marker moves, not the axis under it.
 */
export function capPicture(drawn: {
  readonly rows: readonly CapPictureRow[];
  readonly limitC: number;
  readonly confidence: number;
  readonly chosen: { readonly powerCapW: number; readonly temperatureC: number };
  readonly recommendedCapW?: number;
}): string {
  const { rows, limitC, confidence, chosen, recommendedCapW } = drawn;
  const [first, last] = [rows[0], rows.at(-1)];
  if (first === undefined || last === undefined) return '';
  const capsW = rows.map(({ powerCapW }) => powerCapW);
  // Room for the marker at either end.
  const beyondW = 0.015 * (last.powerCapW - first.powerCapW);
  const xRange = [first.powerCapW - beyondW, last.powerCapW + beyondW] as const;
  const band = bandOutline(
    capsW,
    rows.map(({ temperatureInterval95C: [low] }) => low),
    rows.map(({ temperatureInterval95C: [, high] }) => high),
  );
  const [low, high] = roomAround([...band.y, limitC], 5, 0.05);
  const range = [axisStepK * Math.floor(low / axisStepK), axisStepK * Math.ceil(high / axisStepK)] as const;
  // Below the rising line there is room, except at its end.
  const isRight = chosen.powerCapW > xRange[0] + 0.75 * (xRange[1] - xRange[0]);
  const title =
    recommendedCapW === undefined
      ? 'No cap holds all that is asked'
      : `${formatNumber(recommendedCapW, 'W')} holds ${formatNumber(limitC, '°C')} with ${formatNumber(100 * confidence)} % confidence`;
  return stillPicture(
    panelFigure({
      title,
      subtitle: 'Band: 95 % interval. Dashed: what stays below with the confidence asked for.',
      description: `At ${formatNumber(chosen.powerCapW, 'W')}: ${chosen.temperatureC.toFixed(1)} °C.`,
      xTitle: 'Power cap, W',
      xRange,
      heightPx: 250,
      hovermode: 'closest',
      panels: [
        {
          yTitle: 'Steady temperature, °C',
          weight: 1,
          range,
          traces: [
            {
              type: 'scatter',
              mode: 'lines',
              name: 'band',
              x: band.x,
              y: band.y,
              line: { width: 0, color: red },
              fill: 'toself',
              fillcolor: redBand,
            },
            {
              type: 'scatter',
              mode: 'lines',
              name: 'mean',
              x: capsW,
              y: rows.map(({ temperatureC }) => temperatureC),
              line: { color: red, width: 2.4 },
            },
            {
              type: 'scatter',
              mode: 'lines',
              name: 'with the confidence',
              x: capsW,
              y: rows.map(({ atConfidenceC }) => atConfidenceC),
              line: { color: red, width: 1.4, dash: 'dash' },
            },
            {
              type: 'scatter',
              mode: 'markers',
              name: 'setting',
              x: [chosen.powerCapW],
              y: [chosen.temperatureC],
              marker: { color: blue, size: 10, symbol: 'circle' },
            },
          ],
          shapes: [
            levelLine(limitC, xRange),
            ...(recommendedCapW === undefined
              ? []
              : [
                  {
                    type: 'line' as const,
                    x0: recommendedCapW,
                    x1: recommendedCapW,
                    wholeHeight: true as const,
                    layer: 'above' as const,
                    line: { color: quiet, width: 1.3, dash: 'dot' as const },
                  },
                ]),
          ],
          labels: [
            {
              text: `${formatNumber(chosen.powerCapW, 'W')}: ${chosen.temperatureC.toFixed(1)} °C`,
              x: chosen.powerCapW,
              y: chosen.temperatureC,
              color: blue,
              xanchor: isRight ? 'right' : 'left',
              yanchor: isRight ? 'bottom' : 'top',
              xshift: isRight ? -10 : 10,
              yshift: isRight ? 6 : -6,
            },
          ],
          endLabels: [{ text: `limit ${formatNumber(limitC, '°C')}`, y: limitC, color: ink }],
        },
      ],
    }),
    { widthPx },
  );
}
