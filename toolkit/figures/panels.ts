import type { Annotation, Axis, Figure, Shape, Trace } from './figure.js';
import { literal, titleBlock } from './figure-text.js';
import { logTicks } from './log-ticks.js';
import { lightPalette } from './palette.js';
import { figureConfig, figureTemplate } from './template.js';

/** A word at the end of a line instead of a legend. */
export interface EndLabel {
  readonly text: string;
  readonly y: number;
  readonly color: string;
}

/** One panel of a picture: a y axis with what is drawn against it. */
export interface Panel {
  readonly yTitle: string;
  /** Share of the height. */
  readonly weight: number;
  /** Lowest and highest value shown; their logarithms to base 10 on a logarithmic scale, as of all labels. */
  readonly range: readonly [number, number];
  /** Default: linear. */
  readonly scale?: 'log';
  /** Traces without axis names; these are set here. */
  readonly traces: readonly Trace[];
  readonly endLabels?: readonly EndLabel[];
  /** Labels inside the panel, placed in its data units. */
  readonly labels?: readonly PanelLabel[];
  /** Shapes in the panel's data units. */
  readonly shapes?: readonly PanelShape[];
  /** Rows with names instead of a scale. */
  readonly rows?: readonly string[];
}

/** A label inside a panel. */
export interface PanelLabel {
  readonly text: string;
  readonly x: number;
  readonly y: number;
  readonly color: string;
  readonly xanchor: 'left' | 'center' | 'right';
  readonly yanchor: 'top' | 'middle' | 'bottom';
  readonly xshift?: number;
  readonly yshift?: number;
}

/** A shape in a panel; `wholeHeight` makes it as high as the panel. */
export type PanelShape = Omit<Shape, 'xref' | 'yref' | 'y0' | 'y1'> &
  ({ readonly y0: number; readonly y1: number } | { readonly wholeHeight: true });

/** All that makes a picture of one or more panels over one x axis. */
export interface PanelFigure {
  readonly title: string;
  readonly subtitle: string;
  /** In words, for readers who cannot see it; the title comes before it. */
  readonly description: string;
  readonly xTitle: string;
  readonly xRange: readonly [number, number];
  readonly xAxis?: Omit<Axis, 'title' | 'range' | 'domain' | 'anchor'>;
  readonly heightPx: number;
  readonly panels: readonly Panel[];
  readonly hovermode: 'x' | 'closest' | 'x unified';
}

const gapPx = 26;
const labelLinePx = 17;
/** The step is the next 1, 2 or 5 above a fifth of the range, so that at least two marks stand on every scale. */
const leastTickCount = 5;
/** Average width of a character at 13 px in the widest of our fonts. */
export const characterPx = 7.9;

/** Lays panels out one above the other, puts the words at the line ends and the title above. */
export function panelFigure(parts: PanelFigure): Figure {
  const finding = capitalised(parts.title);
  const title = titleBlock(finding, capitalised(parts.subtitle));
  const endLabels = parts.panels.flatMap((panel) => panel.endLabels ?? []);
  const longest = Math.max(0, ...endLabels.map((label) => [...label.text].length));
  const margin = {
    l: 76,
    r: Math.max(24, Math.ceil(longest * characterPx) + 18),
    t: title.heightPx + 8,
    b: 58,
  };
  const plotHeightPx = parts.heightPx;
  const axes: Record<string, Axis> = {};
  const traces: Trace[] = [];
  const annotations: Annotation[] = [];
  const shapes: Shape[] = [];
  const domains = domainsOf(parts.panels, plotHeightPx);

  parts.panels.forEach((panel, index) => {
    const suffix = index === 0 ? '' : String(index + 1);
    const yref = `y${suffix}`;
    const domain = domains[index];
    axes[`yaxis${suffix}`] = {
      ...(panel.yTitle === '' ? {} : { title: { text: literal(panel.yTitle) } }),
      domain,
      range: panel.range,
      ...(index === 0 ? {} : { anchor: 'x' }),
      ...(panel.scale === 'log' ? { type: 'log' as const, ...logTicks(panel.range) } : {}),
      ...(panel.scale === 'log'
        ? {}
        : panel.rows === undefined
          ? { nticks: Math.max(leastTickCount, Math.round(((domain[1] - domain[0]) * plotHeightPx) / 34)) }
          : {
              tickvals: panel.rows.map((_, row) => row),
              ticktext: panel.rows.map(literal),
              showgrid: false,
            }),
    };
    for (const trace of panel.traces) traces.push({ ...trace, xaxis: 'x', yaxis: yref });
    for (const shape of panel.shapes ?? []) {
      if ('wholeHeight' in shape) {
        const { wholeHeight: _, ...rest } = shape;
        shapes.push({ ...rest, xref: 'x', yref: `${yref} domain`, y0: 0, y1: 1 });
      } else shapes.push({ ...shape, xref: 'x', yref });
    }
    for (const label of panel.labels ?? []) {
      const { color, text, ...place } = label;
      annotations.push({
        ...place,
        text: literal(text),
        xref: 'x',
        yref,
        showarrow: false,
        font: { size: 13, color },
      });
    }
    const heightPx = (domain[1] - domain[0]) * plotHeightPx;
    for (const label of spread(panel.endLabels ?? [], panel.range, heightPx)) {
      annotations.push({
        text: literal(label.text),
        x: 1,
        y: label.y,
        xref: 'x domain',
        yref,
        showarrow: false,
        xanchor: 'left',
        yanchor: 'middle',
        xshift: 6,
        align: 'left',
        font: { size: 13, color: label.color },
      });
    }
  });

  return {
    data: traces,
    layout: {
      template: figureTemplate,
      title: { text: title.text },
      height: plotHeightPx + margin.t + margin.b,
      margin,
      meta: { title: finding, description: capitalised(parts.description) },
      hovermode: parts.hovermode,
      xaxis: {
        ...parts.xAxis,
        title: { text: literal(parts.xTitle) },
        range: parts.xRange,
        // The axis stands below the lowest panel.
        anchor: parts.panels.length === 1 ? 'y' : `y${parts.panels.length}`,
      },
      ...axes,
      annotations,
      shapes,
    },
    config: figureConfig,
  };
}

/** Findings and names begin sentences here, however they were written. */
function capitalised(text: string): string {
  const [first = ''] = text;
  return first.toUpperCase() + text.slice(first.length);
}

/** A range that leaves room around the values, at least `least` wide. */
export function roomAround(values: readonly number[], least: number, room = 0.07): readonly [number, number] {
  const finite = values.filter(Number.isFinite);
  if (finite.length === 0) return [0, least];
  const low = finite.reduce((a, b) => Math.min(a, b));
  const high = finite.reduce((a, b) => Math.max(a, b));
  const width = Math.max(high - low, least);
  const middle = (low + high) / 2;
  return [middle - width * (0.5 + room), middle + width * (0.5 + room)];
}

/** A closed outline around a band, for a filled trace. */
export function bandOutline(
  x: readonly number[],
  low: readonly number[],
  high: readonly number[],
): { readonly x: readonly number[]; readonly y: readonly number[] } {
  return { x: [...x, ...[...x].reverse()], y: [...high, ...[...low].reverse()] };
}

/** A horizontal reference line across the picture. */
export function levelLine(
  y: number,
  xRange: readonly [number, number],
  color: string = lightPalette.ink,
): PanelShape {
  return {
    type: 'line',
    x0: xRange[0],
    x1: xRange[1],
    y0: y,
    y1: y,
    layer: 'above',
    line: { color, width: 1.3, dash: 'dash' },
  };
}

function domainsOf(panels: readonly Panel[], heightPx: number): readonly (readonly [number, number])[] {
  const gap = gapPx / heightPx;
  const total = panels.reduce((sum, panel) => sum + panel.weight, 0);
  const free = 1 - gap * (panels.length - 1);
  let top = 1;
  return panels.map((panel, index) => {
    const height = (panel.weight / total) * free;
    const bottom = index === panels.length - 1 ? 0 : top - height;
    const domain = [bottom, top] as const;
    top = bottom - gap;
    return domain;
  });
}

/** Moves labels apart vertically until none covers another, keeping their order and staying in the panel. */
function spread(
  labels: readonly EndLabel[],
  range: readonly [number, number],
  heightPx: number,
): readonly EndLabel[] {
  const least = (labelLinePx * (range[1] - range[0])) / heightPx;
  const sorted = [...labels].sort((a, b) => a.y - b.y);
  const placed = sorted.map((label) => Math.min(Math.max(label.y, range[0]), range[1]));
  for (let i = 1; i < placed.length; i++) placed[i] = Math.max(placed[i], placed[i - 1] + least);
  for (let i = placed.length - 1, ceiling = range[1]; i >= 0; i--) {
    placed[i] = Math.min(placed[i], ceiling);
    ceiling = placed[i] - least;
  }
  return sorted.map((label, i) => ({ ...label, y: placed[i] }));
}
