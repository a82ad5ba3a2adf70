import type { CapFrontier, FrontierPoint } from '../cap/frontier/frontier.js';
import { requireKind } from '../errors.js';
import type { Estimate } from '../numerics/estimate.js';
import { formatNumber } from '../numerics/format-estimate.js';
import type { Figure, Trace } from './figure.js';
import { shortened } from './figure-text.js';
import { lightPalette } from './palette.js';
import { bandOutline, levelLine, type Panel, panelFigure, roomAround } from './panels.js';
import { scenarioInWords } from './scenario-in-words.js';
import { light } from './thinned.js';

const { ink, quiet, blue, red, ochre, redBand, blueBand, ochreBand } = lightPalette;

/**
 * Caps against everything they cost and bring, one panel each: steady temperature with the limit, throughput or
 * frequency, work per watt-hour, and sound where a fan is to be set; every line with its 95 % band.
 *
 * Two lines cross all panels: the highest cap allowed, and the knee with the range that is nearly as good shaded. Draws what
 * the frontier holds and computes nothing of its own.
 *
 * @param frontier - what `capFrontier` returned
 * @returns a figure with one to four panels; the cap in W along the bottom
 * @throws ArgumentError if it is no frontier
 * @example
 * const points = [
 *   { powerW: 60, temperatureC: 52.1, frequencyMHz: 3180 },
 *   { powerW: 80, temperatureC: 61.9, frequencyMHz: 3450 },
 *   { powerW: 100, temperatureC: 72.2, frequencyMHz: 3650 },
 * ];
 * const cooler = coolerFromSteadyPoints(points, { cooler: 'flat 58 mm' });
 * const frontier = capFrontier(cooler, curveFromSteadyPoints(points), { limitC: 70, ambientC: 24, maxCapW: 110 });
 * figureOfFrontier(frontier).layout.meta.title.startsWith('Flat 58 mm holds 70 °C up to'); // => true
 */
export function figureOfFrontier(frontier: CapFrontier): Figure {
  requireKind(frontier, 'cap-frontier', {
    caller: 'figureOfFrontier',
    argument: 'frontier',
    remedy: 'make one with capFrontier',
  });
  const { points, scenario, knee, highestAllowedW } = frontier;
  const capsW = points.map(({ powerCapW }) => powerCapW);
  const xRange = [capsW[0], capsW[capsW.length - 1]] as const;
  const marks: NonNullable<Panel['shapes']> = [
    ...(knee === undefined
      ? []
      : [
          {
            type: 'rect' as const,
            x0: knee.flatRangeW[0],
            x1: knee.flatRangeW[1],
            wholeHeight: true as const,
            layer: 'below' as const,
            fillcolor: lightPalette.shade,
            line: { width: 0 },
          },
          verticalLine(knee.powerCapW, quiet, 'dot'),
        ]),
    ...(highestAllowedW === undefined ? [] : [verticalLine(highestAllowedW, ink, 'solid')]),
  ];
  const { limitC } = scenario;
  const temperature = lineOf(points, ({ temperatureC }) => temperatureC);
  const panels: Panel[] = [
    {
      ...panelOf('Steady temperature, °C', 2, temperature, {
        color: red,
        band: redBand,
        unit: '°C',
        least: 5,
        also: [limitC],
      }),
      shapes: [levelLine(limitC, xRange), ...marks],
      endLabels: [
        { text: `limit ${formatNumber(limitC, '°C')}`, y: limitC, color: ink },
        { text: 'temperature', y: temperature.at(-1)!.value, color: red },
      ],
      labels: labelsOf(frontier, xRange, temperature),
    },
  ];
  const add = (
    title: string,
    word: string,
    of: (point: FrontierPoint) => Estimate,
    look: { readonly color: string; readonly band: string; readonly unit: string; readonly least: number },
  ): void => {
    const line = lineOf(points, of);
    if (line.length < 2) return;
    panels.push({
      ...panelOf(title, 1.3, line, look),
      shapes: marks,
      endLabels: [{ text: word, y: line.at(-1)!.value, color: look.color }],
    });
  };
  const throughputKnown = points.some(({ throughputPerS }) => throughputPerS.kind === 'estimated');
  if (throughputKnown)
    add('Throughput, 1/s', 'throughput', (point) => point.throughputPerS, {
      color: blue,
      band: blueBand,
      unit: '1/s',
      least: 0,
    });
  else
    add('Frequency, MHz', 'frequency', (point) => point.frequencyMHz, {
      color: blue,
      band: blueBand,
      unit: 'MHz',
      least: 50,
    });
  add('Efficiency, 1/Wh', 'work per Wh', (point) => point.workPerWh, {
    color: ochre,
    band: ochreBand,
    unit: '1/Wh',
    least: 0,
  });
  const sound = points.flatMap(({ powerCapW, soundLevelDb }) =>
    soundLevelDb === undefined
      ? []
      : [{ powerCapW, value: soundLevelDb, low: soundLevelDb, high: soundLevelDb }],
  );
  if (sound.length >= 2)
    panels.push({
      ...panelOf('Sound level, dB', 1, sound, { color: ink, unit: 'dB', least: 3 }),
      shapes: marks,
      endLabels: [{ text: 'sound', y: sound.at(-1)!.value, color: ink }],
    });
  return panelFigure({
    title: titleOf(frontier),
    subtitle: `${scenarioInWords(scenario)} Shaded along the lines: 95 % intervals.${knee === undefined ? '' : ' Grey: nearly as good a knee.'}${points.some(({ extrapolated }) => extrapolated) ? ' Partly outside the tested range.' : ''}`,
    description: frontier.summary,
    xTitle: 'Power cap, W',
    xRange,
    heightPx: 190 + 120 * panels.length,
    panels,
    hovermode: 'closest',
  });
}

interface LinePoint {
  readonly powerCapW: number;
  readonly value: number;
  readonly low: number;
  readonly high: number;
}

function lineOf(
  points: readonly FrontierPoint[],
  of: (point: FrontierPoint) => Estimate,
): readonly LinePoint[] {
  return points.flatMap((point) => {
    const estimate = of(point);
    if (estimate.kind === 'unavailable') return [];
    const [low, high] = estimate.interval95;
    return [{ powerCapW: point.powerCapW, value: estimate.value, low, high }];
  });
}

function panelOf(
  yTitle: string,
  weight: number,
  line: readonly LinePoint[],
  look: {
    readonly color: string;
    readonly band?: string;
    readonly unit: string;
    readonly least: number;
    readonly also?: readonly number[];
  },
): Panel {
  const capsW = line.map(({ powerCapW }) => powerCapW);
  const values = [...line.flatMap(({ low, high }) => [low, high]), ...(look.also ?? [])];
  // Some room even where a quantity hardly changes.
  const least = Math.max(look.least, 0.02 * Math.abs(line[0].value));
  const outline = bandOutline(
    capsW,
    line.map(({ low }) => light(low)),
    line.map(({ high }) => light(high)),
  );
  const band: readonly Trace[] =
    look.band === undefined
      ? []
      : [
          {
            type: 'scatter',
            mode: 'lines',
            name: `${yTitle}: 95 % band`,
            x: outline.x,
            y: outline.y,
            fill: 'toself',
            fillcolor: look.band,
            line: { width: 0, color: look.color },
            hoverinfo: 'skip',
          },
        ];
  return {
    yTitle,
    weight,
    range: roomAround(values, least, 0.08),
    traces: [
      ...band,
      {
        type: 'scatter',
        mode: 'lines',
        name: yTitle,
        x: capsW,
        y: line.map(({ value }) => light(value)),
        line: { color: look.color, width: 2.4, simplify: false },
        text: line.map(({ low, high }) =>
          low === high ? '' : `95 %: ${formatNumber(low)} to ${formatNumber(high, look.unit)}`,
        ),
        hovertemplate: `%{x} W: %{y:.4~g} ${look.unit}<br>%{text}<extra></extra>`,
      },
    ],
  };
}

function verticalLine(x: number, color: string, dash: 'solid' | 'dot'): NonNullable<Panel['shapes']>[number] {
  return { type: 'line', x0: x, x1: x, wholeHeight: true, line: { color, width: 1.6, dash } };
}

/** Names of the two lines, at the foot of the uppermost panel, each on the side where there is room. */
function labelsOf(
  { knee, highestAllowedW }: CapFrontier,
  xRange: readonly [number, number],
  temperature: readonly LinePoint[],
): NonNullable<Panel['labels']> {
  const foot = Math.min(...temperature.map(({ low }) => low));
  const side = (x: number): { readonly xanchor: 'left' | 'right'; readonly xshift: number } =>
    x > (xRange[0] + xRange[1]) / 2 ? { xanchor: 'right', xshift: -5 } : { xanchor: 'left', xshift: 5 };
  return [
    ...(highestAllowedW === undefined
      ? []
      : [
          {
            text: `up to ${formatNumber(highestAllowedW, 'W')} allowed`,
            x: highestAllowedW,
            y: foot,
            color: ink,
            yanchor: 'bottom' as const,
            ...side(highestAllowedW),
          },
        ]),
    ...(knee === undefined
      ? []
      : [
          {
            text: `knee ${formatNumber(knee.powerCapW, 'W')}`,
            x: knee.powerCapW,
            y: foot,
            color: quiet,
            yanchor: 'bottom' as const,
            // One line higher, so that the two never cover each other.
            yshift: 18,
            ...side(knee.powerCapW),
          },
        ]),
  ];
}

function titleOf({ cooler, points, knee, highestAllowedW, scenario }: CapFrontier): string {
  const name = shortened(cooler);
  const limit = formatNumber(scenario.limitC, '°C');
  const holds =
    highestAllowedW === undefined
      ? `${name} holds ${limit} at no cap from ${formatNumber(points[0].powerCapW)} to ${formatNumber(points.at(-1)!.powerCapW, 'W')}`
      : `${name} holds ${limit} up to ${formatNumber(highestAllowedW, 'W')}`;
  return knee === undefined
    ? holds
    : `${holds}; ${knee.of} has its knee at ${formatNumber(knee.powerCapW, 'W')}`;
}
