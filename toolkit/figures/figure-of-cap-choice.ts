import type { CapChoice } from '../cap/choose/cap-choice.js';
import { objectiveInWords } from '../cap/setting/objective.js';
import { ArgumentError, type KnownNames, requireKind, requireKnownNames } from '../errors.js';
import type { Estimate } from '../numerics/estimate.js';
import { formatEstimate, formatNumber } from '../numerics/format-estimate.js';
import type { Figure } from './figure.js';
import { isExtrapolated, shortened, starred } from './figure-text.js';
import { lightPalette } from './palette.js';
import {
  bandOutline,
  characterPx,
  levelLine,
  type Panel,
  type PanelLabel,
  panelFigure,
  roomAround,
} from './panels.js';
import { scenarioInWords } from './scenario-in-words.js';
import { light } from './thinned.js';

const { ink, quiet, blue, red, ochre, redBand } = lightPalette;
/** Width of the panels on paper. */
const narrowPlotPx = 460;

/** What a picture of a cap says besides the choice itself. */
export interface FigureOfCapChoiceOptions {
  /** Where the machine stands, as the title shall say it: `in the drawer`. */
  readonly place?: string;
}

const OPTION_NAMES: KnownNames<FigureOfCapChoiceOptions> = { place: true };

/**
 * The recommended cap as a picture: steady temperature against power cap with its band, the limit, the chosen
 * cap, and below it the frequency each cap leaves, and the objective where that is another, where a power curve tells
 * them. The title says what binds.
 *
 * Draws what the choice contains and computes nothing of its own. The band is the 95 % interval of the steady
 * temperature: resistance, room and enclosure together.
 *
 * @param choice - what `chooseCap` returned
 * @param options - `place`: where, for the title
 * @returns a figure with one to three panels; the cap in W along the bottom
 * @throws ArgumentError if the choice holds fewer than two rows of temperature against cap
 * @example
 * const cooler = coolerFromSteadyPoints(
 *   [{ powerW: 60, temperatureC: 55 }, { powerW: 90, temperatureC: 71 }],
 *   { cooler: 'flat 58 mm' },
 * );
 * const curve = curveFromSteadyPoints([
 *   { powerW: 60, temperatureC: 55, frequencyMHz: 3100 },
 *   { powerW: 90, temperatureC: 70, frequencyMHz: 3520 },
 *   { powerW: 118, temperatureC: 84, frequencyMHz: 3810 },
 * ]);
 * const choice = chooseCap(cooler, curve, { limitC: 80, ambientC: 23, enclosure: { riseK: 8 } });
 * const { title } = figureOfCapChoice(choice, { place: 'in the drawer' }).layout.meta;
 * title.startsWith('Flat 58 mm holds 80 °C up to '); // => true
 */
export function figureOfCapChoice(choice: CapChoice, options: FigureOfCapChoiceOptions = {}): Figure {
  const caller = 'figureOfCapChoice';
  requireKind(choice, 'cap-choice', { caller, argument: 'choice', remedy: 'make one with chooseCap' });
  requireKnownNames(options, OPTION_NAMES, { caller, argument: 'options' });
  const rows = choice.temperatureAgainstCap;
  if (rows.length < 2) {
    throw new ArgumentError({
      caller: 'figureOfCapChoice',
      argument: 'choice.temperatureAgainstCap',
      expected: 'at least two rows, one per cap',
      received: rows.length,
      remedy: 'pass the result of chooseCap as it is',
    });
  }
  const capsW = rows.map((row) => row.powerCapW);
  const xRange = [Math.min(...capsW), Math.max(...capsW)] as const;
  const along = (choice.powerCapW - xRange[0]) / (xRange[1] - xRange[0]);
  const { limitC } = choice.scenario;
  const defaultCapW = choice.scenario.defaultCapW;
  const showsDefault = defaultCapW !== undefined && defaultCapW > xRange[0] && defaultCapW <= xRange[1];
  const verticals: Panel['shapes'] = [
    ...(showsDefault && defaultCapW !== choice.powerCapW
      ? [
          {
            type: 'line' as const,
            x0: defaultCapW,
            x1: defaultCapW,
            wholeHeight: true as const,
            line: { color: quiet, width: 1.2, dash: 'dot' },
          },
        ]
      : []),
    {
      type: 'line',
      x0: choice.powerCapW,
      x1: choice.powerCapW,
      wholeHeight: true,
      line: { color: blue, width: 2.2 },
    },
  ];

  const [bottomC, topC] = roomAround([...rows.flatMap((row) => [row.lowC, row.highC]), limitC], 5, 0.1);
  // The cap's own words stand in the top corner, above the line of the limit.
  const temperatureRange = [bottomC, Math.max(topC, bottomC + (limitC - bottomC) / 0.87)] as const;
  const outline = bandOutline(
    capsW,
    rows.map((row) => light(row.lowC)),
    rows.map((row) => light(row.highC)),
  );
  const lastRow = rows.at(-1)!;
  const capText = `cap ${formatNumber(choice.powerCapW, 'W')}: ${starred(choice.steadyTemperatureC, '°C')}`;
  const capLabel = besideCap(capText, choice.powerCapW, along, temperatureRange);
  const labels: PanelLabel[] = [{ ...capLabel, color: blue }];
  if (showsDefault && defaultCapW !== choice.powerCapW) {
    labels.push({
      text: `default ${formatNumber(defaultCapW, 'W')}`,
      x: defaultCapW,
      y: temperatureRange[0],
      color: quiet,
      // To the right, away from the chosen cap, if need be into the margin.
      xanchor: 'left',
      yanchor: 'bottom',
      xshift: 5,
      // One line higher where the cap's own words stand in this corner.
      yshift: capLabel.yanchor === 'bottom' ? 20 : 2,
    });
  }
  const chance = new Map(choice.neighbours.map((row) => [row.powerCapW, row.chanceOfPassingLimit]));
  const panels: Panel[] = [
    {
      yTitle: 'Steady temperature, °C',
      weight: 2.3,
      range: temperatureRange,
      traces: [
        {
          type: 'scatter',
          mode: 'lines',
          name: '95 % band',
          x: outline.x,
          y: outline.y,
          fill: 'toself',
          fillcolor: redBand,
          line: { width: 0, color: red },
          hoverinfo: 'skip',
        },
        {
          type: 'scatter',
          mode: 'lines',
          name: 'steady temperature',
          x: capsW,
          y: rows.map((row) => light(row.temperatureC)),
          line: { color: red, width: 2.4, simplify: false },
          text: rows.map((row) => {
            const band = `95 %: ${row.lowC.toFixed(1)} to ${row.highC.toFixed(1)} °C`;
            const passing = chance.get(row.powerCapW);
            return passing === undefined ? band : `${band}, exceeds the limit: ${percent(passing)}`;
          }),
          hovertemplate: '%{x} W: %{y:.1f} °C<br>%{text}<extra></extra>',
        },
        {
          type: 'scatter',
          mode: 'lines',
          name: 'with the confidence asked for',
          x: capsW,
          y: rows.map((row) => light(row.atConfidenceC)),
          line: { color: red, width: 1.4, dash: 'dash' },
          hoverinfo: 'skip',
        },
        {
          type: 'scatter',
          mode: 'markers',
          name: 'recommended cap',
          x: [choice.powerCapW],
          y: [choice.steadyTemperatureC.value ?? null],
          marker: { color: blue, size: 10, symbol: 'circle' },
          hoverinfo: 'skip',
        },
      ],
      shapes: [levelLine(limitC, xRange), ...verticals],
      labels,
      endLabels: [
        { text: `limit ${formatNumber(limitC, '°C')}`, y: limitC, color: ink },
        { text: 'mean', y: lastRow.temperatureC, color: red },
        {
          text: `${formatNumber(choice.scenario.confidence * 100)} % stay below`,
          y: lastRow.atConfidenceC,
          color: red,
        },
      ],
    },
  ];

  const withFrequency = rows.filter((row) => row.frequencyMHz !== undefined);
  if (withFrequency.length >= 2) {
    const frequencies = withFrequency.map((row) => row.frequencyMHz!);
    const range = roomAround(frequencies, 50, 0.16);
    panels.push({
      yTitle: 'Frequency, MHz',
      weight: 1,
      range,
      traces: [
        {
          type: 'scatter',
          mode: 'lines',
          name: 'frequency at this cap',
          x: withFrequency.map((row) => row.powerCapW),
          y: frequencies.map(light),
          line: { color: ochre, width: 2.4, simplify: false },
          hovertemplate: '%{x} W: %{y:.0f} MHz<extra></extra>',
        },
        {
          type: 'scatter',
          mode: 'markers',
          name: 'frequency at the recommended cap',
          x: [choice.powerCapW],
          y: [choice.frequencyMHz.value ?? null],
          marker: { color: blue, size: 10, symbol: 'circle' },
          ...intervalOf(choice.frequencyMHz),
          hoverinfo: 'skip',
        },
      ],
      shapes: verticals,
      labels: [
        {
          ...besideCap(starred(choice.frequencyMHz, 'MHz'), choice.powerCapW, along, range),
          color: blue,
        },
      ],
      endLabels: [{ text: 'frequency', y: frequencies.at(-1)!, color: ochre }],
    });
  }

  const objective = objectivePanel(choice, { verticals, along });
  if (objective !== undefined) panels.push(objective);

  const place = options.place === undefined ? '' : ` ${shortened(options.place)}`;
  const title = `${capInWords(choice)}${place}`;
  return panelFigure({
    title,
    subtitle: `${scenarioInWords(choice.scenario)}${besideInWords(choice)} Shaded: 95 % interval.${extrapolationInWords(choice)}`,
    description: `Steady temperature there ${formatEstimate(choice.steadyTemperatureC, '°C')}, frequency ${choice.frequencyMHz.kind === 'estimated' ? formatEstimate(choice.frequencyMHz, 'MHz') : 'not known'}.`,
    xTitle: 'Power cap, W',
    xRange,
    heightPx: 320 + 120 * (panels.length - 1),
    panels,
    hovermode: 'closest',
  });
}

/** What the stars at numbers mean; of a cap beyond what was logged even where no number has one. */
function extrapolationInWords(choice: CapChoice): string {
  const isStarred = [choice.steadyTemperatureC, choice.frequencyMHz, choice.objective.reached].some(
    isExtrapolated,
  );
  if (isStarred) return ' *Outside the tested range.';
  return choice.extrapolated ? ' Outside the tested range.' : '';
}

/** Fan speed, voltage offset and short-term cap, where they were chosen with the cap. */
function besideInWords({ fan, voltageOffsetMv, shortTerm }: CapChoice): string {
  const parts = [
    ...(fan === undefined ? [] : [`fan at ${formatNumber(fan.speedRpm, 'rpm')}`]),
    ...(voltageOffsetMv === undefined ? [] : [`voltage offset ${formatNumber(voltageOffsetMv, 'mV')}`]),
    ...(shortTerm === undefined
      ? []
      : [`${formatNumber(shortTerm.powerCapW, 'W')} for ${formatNumber(shortTerm.windowS, 's')}`]),
  ];
  if (parts.length === 0) return '';
  const text = parts.join(', ');
  return ` ${text.charAt(0).toUpperCase()}${text.slice(1)}.`;
}

/** The objective against the cap, where it is another than the frequency and the curve tells it. */
function objectivePanel(
  choice: CapChoice,
  where: { readonly verticals: Panel['shapes']; readonly along: number },
): Panel | undefined {
  const { name, unit, reached } = choice.objective;
  const rows = choice.temperatureAgainstCap.filter((row) => row.objective !== undefined);
  if (name === 'frequency' || rows.length < 2) return undefined;
  const values = rows.map((row) => row.objective!);
  const words = objectiveInWords[name];
  const spread = Math.max(...values) - Math.min(...values);
  const range = roomAround(values, Math.max(0.25 * spread, 1e-6 * Math.max(...values)), 0.16);
  return {
    yTitle: `${words.charAt(0).toUpperCase()}${words.slice(1)}, ${unit}`,
    weight: 1,
    range,
    traces: [
      {
        type: 'scatter',
        mode: 'lines',
        name: `${words} at this cap`,
        x: rows.map((row) => row.powerCapW),
        y: values.map(light),
        line: { color: ink, width: 2.4, simplify: false },
        hovertemplate: `%{x} W: %{y:.4g} ${unit}<extra></extra>`,
      },
      {
        type: 'scatter',
        mode: 'markers',
        name: `${words} at the recommended cap`,
        x: [choice.powerCapW],
        y: [reached.value ?? null],
        marker: { color: blue, size: 10, symbol: 'circle' },
        ...intervalOf(reached),
        hoverinfo: 'skip',
      },
    ],
    shapes: where.verticals,
    labels: [
      {
        ...besideCap(starred(reached, unit), choice.powerCapW, where.along, range),
        color: blue,
      },
    ],
    endLabels: [{ text: words, y: values.at(-1)!, color: ink }],
  };
}

function capInWords(choice: CapChoice): string {
  const cooler = shortened(choice.cooler);
  const limit = formatNumber(choice.scenario.limitC, '°C');
  const cap = formatNumber(choice.powerCapW, 'W');
  if (choice.bindingConstraint === 'default-cap')
    return `${cooler} holds ${limit} at the default cap of ${cap}`;
  if (choice.bindingConstraint === 'max-cap')
    return `${cooler} holds ${limit} at ${cap}, the highest cap allowed`;
  if (choice.bindingConstraint === 'tested-range')
    return `${cooler} holds ${limit} at ${cap}, and perhaps more`;
  const objective = objectiveInWords[choice.objective.name];
  if (choice.bindingConstraint === 'objective') return `${cooler}: best ${objective} at ${cap}`;
  if (choice.bindingConstraint === 'supply') return `${cooler} at ${cap}, all that the supply leaves`;
  if (choice.bindingConstraint === 'min-throughput')
    return `${cooler}: ${cap} reach the throughput asked for`;
  if (choice.bindingConstraint === 'min-cap') return `${cooler}: best ${objective} at the lowest cap, ${cap}`;
  return `${cooler} holds ${limit} up to ${cap}`;
}

/** The empty corner beside the cap's line: above to its left where the words fit, else below to its right. */
function besideCap(
  text: string,
  capW: number,
  along: number,
  range: readonly [number, number],
): Omit<PanelLabel, 'color'> {
  const fits = along * narrowPlotPx > text.length * characterPx;
  return fits
    ? { text, x: capW, y: range[1], xanchor: 'right', yanchor: 'top', xshift: -6, yshift: -2 }
    : { text, x: capW, y: range[0], xanchor: 'left', yanchor: 'bottom', xshift: 6, yshift: 2 };
}

function intervalOf(estimate: Estimate): Pick<Panel['traces'][number], 'error_y'> {
  if (estimate.kind === 'unavailable') return {};
  const [low, high] = estimate.interval95;
  return {
    error_y: {
      type: 'data',
      symmetric: false,
      array: [light(high - estimate.value)],
      arrayminus: [light(estimate.value - low)],
      color: blue,
      thickness: 1.6,
      width: 5,
    },
  };
}

function percent(fraction: number): string {
  if (fraction < 0.001) return 'below 0.1 %';
  return `${formatNumber(Number((fraction * 100).toPrecision(2)))} %`;
}
