import { type KnownNames, requireKnownNames } from '../errors.js';
import { formatEstimate, formatNumber } from '../numerics/format-estimate.js';
import { samplingOf } from '../runs/quality/sampling.js';
import { requireRun } from '../runs/require-run.js';
import type { Run } from '../runs/run.js';
import { type LoadSegments, loadSegments } from '../runs/segments/load-segments.js';
import type { LimitedBy, LoadSegment } from '../runs/segments/run-segment.js';
import { type SteadyWindow, steadyWindow } from '../runs/segments/steady-window.js';
import type { Figure, Trace } from './figure.js';
import { shortened } from './figure-text.js';
import { lightPalette } from './palette.js';
import {
  levelLine,
  type Panel,
  type PanelLabel,
  type PanelShape,
  panelFigure,
  roomAround,
} from './panels.js';
import { light, thinned } from './thinned.js';
import { inMinutes } from './time-in-minutes.js';

const { ink, quiet, blue, red, ochre, shade, strongShade } = lightPalette;

/** What is drawn over the samples, where it is already known or shall differ from the defaults. */
export interface FigureOfRunOptions {
  /** Default: `loadSegments(run)`. */
  readonly segments?: LoadSegments;
  /** Default: `steadyWindow(run)` where the run holds load. */
  readonly steady?: SteadyWindow;
}

const OPTION_NAMES: KnownNames<FigureOfRunOptions> = { segments: true, steady: true };

/**
 * One run: temperature, power, frequency and throughput above one another over one time axis, with the load
 * segments and the steady window shaded and the cap drawn.
 *
 * A run of loads in turn, with pauses, has no steady end: its highest temperature stands in the title instead. Long runs
 * are thinned to about 4,000 points a line so that every peak stays; gaps stay open.
 *
 * @param run - any run
 * @param options - segments and steady window, if known
 * @returns a figure with one panel per logged quantity; time in minutes along the bottom
 * @throws ArgumentError as `loadSegments` and `steadyWindow` do
 * @example
 * const timeS = Array.from({ length: 600 }, (_, i) => i);
 * const run = makeRun(
 *   {
 *     timeS,
 *     temperatureC: timeS.map((t) => 70 - 40 * Math.exp(-t / 40) + 0.2 * Math.sin(1.7 * t)),
 *     powerW: timeS.map(() => 65),
 *   },
 *   { label: 'drawer', conditions: { powerCapW: 65, ambientC: 22 } },
 * );
 * figureOfRun(run).layout.yaxis2?.title?.text; // => 'Power, W'
 */
export function figureOfRun(run: Run, options: FigureOfRunOptions = {}): Figure {
  requireRun(run, 'figureOfRun');
  requireKnownNames(options, OPTION_NAMES, { caller: 'figureOfRun', argument: 'options' });
  const segments = options.segments ?? loadSegments(run);
  const loads = segments.segments.filter((segment): segment is LoadSegment => segment.kind === 'load');
  const turns = turnsOf(segments.segments);
  const inTurn = options.steady === undefined && turns.length >= LEAST_TURNS;
  const steady = options.steady ?? (loads.length === 0 || inTurn ? undefined : steadyWindow(run));
  const minutes = inMinutes(run.timeS);
  const xRange = [0, Math.max(minutes.at(-1)!, 1e-3)] as const;
  const shading: readonly PanelShape[] = [
    ...loads.map((load) => shadedSpan(load.startS, load.endS, shade)),
    ...(steady === undefined ? [] : [shadedSpan(steady.startS, steady.endS, strongShade)]),
  ];
  const drawn = (name: string, unit: string, values: Float64Array, color: string, digits: number): Trace => ({
    type: 'scatter',
    mode: 'lines',
    name,
    ...thinned(minutes, values),
    line: { color, width: 1.4 },
    connectgaps: false,
    hovertemplate: `${name} %{y:.${digits}f} ${unit}<extra></extra>`,
  });

  const air = run.ambientC;
  const temperature = drawn('temperature', '°C', run.temperatureC, red, 1);
  const temperatureTraces = [
    ...(air === undefined ? [] : [drawn('intake air', '°C', air, quiet, 1)]),
    temperature,
  ];
  const panels: Panel[] = [
    {
      yTitle: 'Temperature, °C',
      weight: 2,
      range: rangeOf(temperatureTraces, 5),
      traces: temperatureTraces,
      shapes: [...shading, ...meanLine(steady)],
      endLabels: air === undefined ? [] : [{ text: 'intake air', y: air.at(-1)!, color: quiet }],
    },
  ];

  const power = drawn('power', 'W', run.powerW, blue, 1);
  const capW = segments.powerCapW;
  panels.push({
    yTitle: 'Power, W',
    weight: 1.15,
    range: roomAround([...finite(power), 0, ...(capW === undefined ? [] : [capW])], 10),
    traces: [power],
    shapes: [...shading, ...(capW === undefined ? [] : [levelLine(capW, xRange)])],
    labels: loads.flatMap((load) => limitLabel(load, xRange[1])),
    endLabels:
      capW === undefined
        ? []
        : [
            {
              text: `cap ${formatNumber(capW, 'W')}${segments.capSource === 'inferred' ? ', inferred' : ''}`,
              y: capW,
              color: ink,
            },
          ],
  });
  if (run.frequencyMHz !== undefined) {
    const trace = drawn('frequency', 'MHz', run.frequencyMHz, ochre, 0);
    panels.push({
      yTitle: 'Frequency, MHz',
      weight: 1,
      range: rangeOf([trace], 100),
      traces: [trace],
      shapes: shading,
    });
  }
  if (run.throughputPerS !== undefined) {
    const trace = drawn('throughput', 'per s', run.throughputPerS, ink, 2);
    panels.push({
      yTitle: 'Work, 1/s',
      weight: 1,
      range: rangeOf([trace], 1e-3),
      traces: [trace],
      shapes: shading,
    });
  }

  const highestC = run.temperatureC.reduce((most, value) => Math.max(most, value), Number.NEGATIVE_INFINITY);
  const finding = inTurn
    ? `${turns.length} loads in turn reach ${highestC.toFixed(1)} °C at most`
    : findingInWords(steady, capW);
  const title = `${finding}: ${shortened(run.label)}`;
  return panelFigure({
    title,
    subtitle: circumstances(run, steady, inTurn ? turns : [], loads.length > 0),
    description: `${run.timeS.length} samples over ${formatNumber(xRange[1], 'min')}${steady === undefined ? '' : `; ${steady.reason}`}`,
    xTitle: 'Time, min',
    xRange,
    heightPx: 130 + 115 * panels.length,
    panels,
    hovermode: 'x unified',
  });
}

function findingInWords(steady: SteadyWindow | undefined, capW: number | undefined): string {
  if (steady === undefined) return 'No load';
  if (steady.limitedBy === 'temperature') return heldBack(steady, capW);
  if (steady.verdict === 'steady') return `Steady at ${formatEstimate(steady.temperatureC.estimate, '°C')}`;
  if (steady.verdict === 'too-short') return 'Steady temperature not known';
  const drift = steady.driftKPerMin;
  if (drift.kind === 'unavailable') return 'Not steady at its end';
  const size =
    drift.value < 0
      ? { ...drift, value: -drift.value, interval95: [-drift.interval95[1], -drift.interval95[0]] as const }
      : drift;
  const aboveAir = steady.driftOf === 'temperature-rise';
  const [down, up] = aboveAir ? ['shrinks', 'grows'] : ['falls', 'rises'];
  const what = aboveAir ? 'rise above the air' : 'temperature';
  return `Not steady: ${what} ${drift.value < 0 ? down : up} by ${formatEstimate(size, 'K/min')}`;
}

/** A processor that holds itself at its limit follows the air with its power: its drift says nothing of the cooler. */
function heldBack(steady: SteadyWindow, capW: number | undefined): string {
  const temperature = formatNumber(Math.round(steady.temperatureC.mean), '°C');
  const power = formatNumber(Math.round(steady.powerW.mean), 'W');
  return capW === undefined
    ? `Held back at ${temperature}, at ${power}`
    : `Held back at ${temperature}, at ${power} instead of the cap of ${formatNumber(capW, 'W')}`;
}

/** From this many loads with pauses between them on, a run is a duty cycle and no way to a steady state. */
const LEAST_TURNS = 3;

/** Stretches of load between pauses, each from its first segment to its last. */
function turnsOf(segments: LoadSegments['segments']): readonly Turn[] {
  const turns: Turn[] = [];
  segments.forEach(({ kind, startS, endS }, i) => {
    if (kind !== 'load') return;
    if (segments[i - 1]?.kind === 'load') turns[turns.length - 1] = { ...turns.at(-1)!, endS };
    else turns.push({ startS, endS });
  });
  return turns;
}

interface Turn {
  readonly startS: number;
  readonly endS: number;
}

function circumstances(
  run: Run,
  steady: SteadyWindow | undefined,
  turns: readonly Turn[],
  hasLoad: boolean,
): string {
  const { ambientC } = run.conditions;
  const parts: string[] = [];
  if (turns.length > 0) {
    const loadS = turns.reduce((sum, { startS, endS }) => sum + endS - startS, 0);
    const lengthS = run.timeS.at(-1)! - run.timeS[0];
    parts.push(`Under load for ${formatNumber(Math.round((100 * loadS) / lengthS))} % of the time.`);
  }
  if (steady !== undefined) {
    const frequency =
      steady.frequencyMHz === undefined ? '' : `, ${formatNumber(steady.frequencyMHz.mean, 'MHz')}`;
    // A sample stands for the interval up to it, and its stamp jitters.
    const lengthS = steady.endS - steady.startS + samplingOf(run.timeS).medianIntervalS;
    const stepS = lengthS < 20 ? 1 : 5;
    parts.push(
      `Last ${formatNumber(Math.round(lengthS / stepS) * stepS, 's')} of the load: ${formatNumber(steady.powerW.mean, 'W')}${frequency}.`,
    );
  }
  if (run.ambientC === undefined && ambientC !== undefined)
    parts.push(`Intake air ${formatNumber(ambientC, '°C')}.`);
  if (steady?.verdict === 'too-short') parts.push(sentence(steady.reason));
  if (hasLoad)
    parts.push(steady === undefined ? 'Shaded: load.' : 'Shaded: load; stronger: its averaged end.');
  return parts.join(' ');
}

function sentence(text: string): string {
  const [first = ''] = text;
  return `${first.toUpperCase()}${text.slice(first.length)}${text.endsWith('.') ? '' : '.'}`;
}

function shadedSpan(startS: number, endS: number, color: string): PanelShape {
  return {
    type: 'rect',
    x0: light(startS / 60),
    x1: light(endS / 60),
    wholeHeight: true,
    layer: 'below',
    fillcolor: color,
    line: { width: 0 },
  };
}

function meanLine(steady: SteadyWindow | undefined): readonly PanelShape[] {
  if (steady === undefined) return [];
  const { mean } = steady.temperatureC;
  return [
    {
      type: 'line',
      x0: light(steady.startS / 60),
      x1: light(steady.endS / 60),
      y0: light(mean),
      y1: light(mean),
      layer: 'above',
      line: { color: ink, width: 2.5 },
    },
  ];
}

const limits: Readonly<Record<LimitedBy, string>> = {
  cap: 'held by the cap',
  temperature: 'held by temperature',
  frequency: 'held at its highest frequency',
  demand: 'held by demand',
};

/** What held a load segment, where it is long enough for the words. */
function limitLabel(load: LoadSegment, endMin: number): readonly PanelLabel[] {
  const startMin = load.startS / 60;
  const lengthMin = (load.endS - load.startS) / 60;
  if (lengthMin < 0.22 * endMin) return [];
  return [
    {
      text: limits[load.limitedBy],
      x: light(startMin + lengthMin / 2),
      y: 0,
      color: quiet,
      xanchor: 'center',
      yanchor: 'bottom',
    },
  ];
}

function rangeOf(traces: readonly Trace[], least: number): readonly [number, number] {
  return roomAround(traces.flatMap(finite), least);
}

function finite(trace: Trace): readonly number[] {
  return trace.y.filter((value): value is number => typeof value === 'number');
}
