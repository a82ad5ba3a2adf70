import { ArgumentError, type KnownNames, requireKnownNames } from '../../errors.js';
import type { Annotation, Axis, Figure, Layout } from '../../figures/figure.js';
import { escapeHtml } from '../html-text.js';
import { type Scale, scaleOf, type Tick, ticksOf } from './still-picture-axes.js';
import { along, shapeSvg, traceSvg } from './still-picture-marks.js';
import { plainFigureText, short, textSvg, textWidthPx, titleLines } from './still-picture-text.js';

/** How large the picture is. */
export interface StillPictureOptions {
  /** Width in px, 760 by default; at least 360. The height is the figure's own. */
  readonly widthPx?: number;
}

const OPTION_NAMES: KnownNames<StillPictureOptions> = { widthPx: true };
const defaultWidthPx = 760;
const leastWidthPx = 360;
const tickFontPx = 13;
const titleLineShare = 1.3;

/** One panel: its axis and its place. */
interface PanelPlace {
  readonly axis: Axis;
  readonly x: Scale;
  readonly y: Scale;
  readonly xTicks: readonly Tick[];
  readonly yTicks: readonly Tick[];
}

/**
 * A figure as an SVG drawing, for readers whose viewer runs no scripts, for print and for other programs: axes with
 * units, lines, bands, points with their intervals, labels and title, as the figure gives them.
 *
 * The same figure gives the same text. Nothing is loaded and nothing in it runs; texts appear as they are. Lines of
 * thousands of points keep in every column of pixels what can be seen of them.
 *
 * @param figure - a figure of this toolkit
 * @param options - `widthPx`: width of the drawing
 * @returns the text of an SVG document
 * @throws ArgumentError if `widthPx` is below 360 or the figure is none of this toolkit
 * @example
 * const cooler = coolerFromSteadyPoints([{ powerW: 60, temperatureC: 55 }, { powerW: 90, temperatureC: 71 }]);
 * const drawing = stillPicture(figureOfComparison([cooler, cooler]));
 * drawing.startsWith('<svg xmlns="http://www.w3.org/2000/svg"'); // => true
 */
export function stillPicture(figure: Figure, options: StillPictureOptions = {}): string {
  requireFigure(figure);
  requireKnownNames(options, OPTION_NAMES, { caller: 'stillPicture', argument: 'options' });
  const { widthPx = defaultWidthPx } = options;
  if (!(widthPx >= leastWidthPx && Number.isFinite(widthPx)))
    throw new ArgumentError({
      caller: 'stillPicture',
      argument: 'widthPx',
      expected: `a width of at least ${leastWidthPx} px`,
      received: widthPx,
    });
  const { layout } = figure;
  const { template, height } = layout;
  const { font, paper_bgcolor: paper } = template.layout;
  const leftPx = leftMarginPx(layout);
  const panels = panelsOf(layout, leftPx, widthPx);
  const { title, description } = layout.meta;
  const drawn = [...panels.entries()].map(([reference, panel]) => panelSvg(figure, reference, panel, leftPx));
  return [
    `<svg xmlns="http://www.w3.org/2000/svg" width="${widthPx}" height="${height}" viewBox="0 0 ${widthPx} ${height}" font-family="${escapeHtml(font.family ?? 'sans-serif')}" role="img">`,
    `<title>${escapeHtml(title)}</title>`,
    `<desc>${escapeHtml(description)}</desc>`,
    `<rect width="${widthPx}" height="${height}" fill="${escapeHtml(paper)}"/>`,
    titleSvg(layout),
    ...drawn,
    xTitleSvg(layout, panels),
    '</svg>',
  ].join('\n');
}

/** The drawing as an image element, which untrusted notebooks keep; it fits a narrower page. */
export function stillImage(figure: Figure): string {
  const { title, description } = figure.layout.meta;
  return drawingAsImage(stillPicture(figure), `${title}. ${description}`);
}

/** An SVG drawing as an image element; `inWords` is read to those who cannot see it. */
export function drawingAsImage(drawing: string, inWords: string): string {
  const bytes = new TextEncoder().encode(drawing);
  const binary = Array.from(bytes, (byte) => String.fromCharCode(byte)).join('');
  return `<img alt="${escapeHtml(inWords)}" style="max-width:100%;height:auto" src="data:image/svg+xml;base64,${btoa(binary)}">`;
}

function requireFigure(figure: Figure): void {
  const layout = (figure as Partial<Figure> | null | undefined)?.layout;
  if (layout?.meta === undefined || !Array.isArray(figure.data))
    throw new ArgumentError({
      caller: 'stillPicture',
      argument: 'figure',
      expected: 'a figure of this toolkit',
      received: figure,
      remedy: 'make one with figureOfRun, figureOfCapChoice or another figure function',
    });
}

/** Every y axis with its scales, by the name that traces call it by. */
function panelsOf(layout: Layout, leftPx: number, widthPx: number): ReadonlyMap<string, PanelPlace> {
  const { margin, height } = layout;
  const xAxis = layout.xaxis ?? {};
  const x = scaleOf(xAxis, leftPx, widthPx - margin.r);
  const plotHeightPx = height - margin.t - margin.b;
  const panels = new Map<string, PanelPlace>();
  for (const suffix of ['', '2', '3', '4'] as const) {
    const axis = layout[`yaxis${suffix}`];
    if (axis === undefined) continue;
    const [low, high] = axis.domain ?? [0, 1];
    const y = scaleOf(axis, height - margin.b - low * plotHeightPx, height - margin.b - high * plotHeightPx);
    const xTicks = ticksOf(xAxis, x, 70);
    panels.set(`y${suffix}`, { axis, x, y, xTicks, yTicks: ticksOf(axis, y, 20) });
  }
  return panels;
}

/** Names of rows may need more room than the margin has. */
function leftMarginPx(layout: Layout): number {
  const widths = [layout.yaxis, layout.yaxis2, layout.yaxis3, layout.yaxis4].map((axis) => {
    const names = (axis?.ticktext ?? []).map((text) => textWidthPx(plainFigureText(text), tickFontPx));
    return Math.max(0, ...names) + 24 + (axis?.title === undefined ? 0 : 26);
  });
  return Math.ceil(Math.max(layout.margin.l, ...widths));
}

function titleSvg(layout: Layout): string {
  const { font, pad } = layout.template.layout.title;
  const sizePx = font.size ?? 17;
  const lines = titleLines(layout.title.text);
  return lines
    .map((line, index) =>
      textSvg(line.text, {
        x: pad.l,
        y: pad.t + index * sizePx * titleLineShare,
        sizePx: line.sizePx ?? sizePx,
        color: line.color ?? font.color ?? 'currentColor',
        ...(line.sizePx === undefined ? { weight: font.weight ?? 600 } : {}),
      }),
    )
    .join('\n');
}

function panelSvg(figure: Figure, reference: string, panel: PanelPlace, leftPx: number): string {
  const { layout } = figure;
  const { x, y } = panel;
  const [left, right, top, bottom] = [x.startPx, x.endPx, y.endPx, y.startPx];
  const traces = figure.data.filter((trace) => (trace.yaxis ?? 'y') === reference);
  const shapes = (layout.shapes ?? []).filter((shape) => shape.yref.split(' ')[0] === reference);
  const below = shapes.filter((shape) => shape.layer === 'below');
  const above = shapes.filter((shape) => shape.layer !== 'below');
  const labels = (layout.annotations ?? []).filter((label) => label.yref.split(' ')[0] === reference);
  const box = `${short(left)} ${short(top)} ${short(right - left)} ${short(bottom - top)}`;
  // An inner drawing shows nothing beyond its edges.
  const [boxX, boxY, boxWidth, boxHeight] = box.split(' ');
  const inside = (parts: readonly string[]): readonly string[] =>
    parts.length === 0
      ? []
      : [
          `<svg x="${boxX}" y="${boxY}" width="${boxWidth}" height="${boxHeight}" viewBox="${box}">`,
          ...parts,
          '</svg>',
        ];
  return [
    ...inside(below.map((shape) => shapeSvg(shape, x, y))),
    axesSvg(layout, panel, leftPx),
    ...inside([
      ...traces.map((trace) => traceSvg(trace, x, y)),
      ...above.map((shape) => shapeSvg(shape, x, y)),
    ]),
    ...labels.map((label) => labelSvg(label, layout, x, y)),
  ].join('\n');
}

/** Grid, axis lines, marks with their numbers, and the name of the y axis with its unit. */
function axesSvg(layout: Layout, panel: PanelPlace, leftPx: number): string {
  const { x, y, axis, xTicks, yTicks } = panel;
  const style = layout.template.layout.yaxis;
  const ink = layout.template.layout.font.color ?? 'currentColor';
  const line = (from: readonly [number, number], to: readonly [number, number], color: string): string =>
    `<line x1="${short(from[0])}" y1="${short(from[1])}" x2="${short(to[0])}" y2="${short(to[1])}" stroke="${escapeHtml(color)}" stroke-width="1"/>`;
  const hasXAxis = isLowest(layout, axis);
  const yTitle = plainFigureText(axis.title?.text ?? '');
  return [
    ...(layout.xaxis?.showgrid === false
      ? []
      : xTicks.map(({ px }) => line([px, y.startPx], [px, y.endPx], style.gridcolor))),
    ...(axis.showgrid === false
      ? []
      : yTicks.map(({ px }) => line([x.startPx, px], [x.endPx, px], style.gridcolor))),
    line([x.startPx, y.startPx], [x.startPx, y.endPx], style.linecolor),
    ...yTicks.map(({ px }) => line([x.startPx - style.ticklen, px], [x.startPx, px], style.tickcolor)),
    ...yTicks.map(({ px, text }) =>
      textSvg(text, {
        x: x.startPx - style.ticklen - 4,
        y: px + tickFontPx * 0.35,
        sizePx: tickFontPx,
        color: ink,
        anchor: 'end',
      }),
    ),
    ...(hasXAxis
      ? [
          line([x.startPx, y.startPx], [x.endPx, y.startPx], style.linecolor),
          ...xTicks.map(({ px }) => line([px, y.startPx], [px, y.startPx + style.ticklen], style.tickcolor)),
          ...xTicks.map(({ px, text }) =>
            textSvg(text, {
              x: px,
              y: y.startPx + style.ticklen + tickFontPx + 2,
              sizePx: tickFontPx,
              color: ink,
              anchor: 'middle',
            }),
          ),
        ]
      : []),
    ...(yTitle === ''
      ? []
      : [
          textSvg(yTitle, {
            x: Math.min(22, leftPx - 50),
            y: (y.startPx + y.endPx) / 2,
            sizePx: 14,
            color: ink,
            anchor: 'middle',
            turn: -90,
          }),
        ]),
  ].join('\n');
}

function xTitleSvg(layout: Layout, panels: ReadonlyMap<string, PanelPlace>): string {
  const lowest = [...panels.values()].find(({ axis }) => isLowest(layout, axis));
  const title = plainFigureText(layout.xaxis?.title?.text ?? '');
  if (lowest === undefined || title === '') return '';
  return textSvg(title, {
    x: (lowest.x.startPx + lowest.x.endPx) / 2,
    y: lowest.y.startPx + 42,
    sizePx: 14,
    color: layout.template.layout.font.color ?? 'currentColor',
    anchor: 'middle',
  });
}

/** The panel that the x axis stands below. */
function isLowest(layout: Layout, axis: Axis): boolean {
  const bottoms = [layout.yaxis, layout.yaxis2, layout.yaxis3, layout.yaxis4].flatMap((other) =>
    other === undefined ? [] : [other.domain?.[0] ?? 0],
  );
  return (axis.domain?.[0] ?? 0) === Math.min(...bottoms);
}

function labelSvg(label: Annotation, layout: Layout, x: Scale, y: Scale): string {
  const sizePx = label.font?.size ?? tickFontPx;
  const color = label.font?.color ?? layout.template.layout.font.color ?? 'currentColor';
  const lines = label.text.split('<br>').map(plainFigureText);
  const placeX = label.xref.endsWith('domain') ? along(x, label.x) : x.ofRange(label.x);
  const placeY = label.yref.endsWith('domain') ? along(y, label.y) : y.ofRange(label.y);
  const anchors = { left: 'start', center: 'middle', right: 'end' } as const;
  const anchor = anchors[label.xanchor ?? 'center'];
  const heightPx = lines.length * sizePx * titleLineShare;
  const ascent = { top: 1.1 * sizePx, middle: 1.0 * sizePx - heightPx / 2, bottom: 0.9 * sizePx - heightPx };
  const left = placeX + (label.xshift ?? 0);
  const first = placeY - (label.yshift ?? 0) + ascent[label.yanchor ?? 'middle'];
  const texts = lines.map((line, index) =>
    textSvg(line, { x: left, y: first + index * sizePx * titleLineShare, sizePx, color, anchor }),
  );
  if (label.bgcolor === undefined) return texts.join('\n');
  const widthPx = Math.max(...lines.map((line) => textWidthPx(line, sizePx)));
  const pad = label.borderpad ?? 1;
  const start = left - { start: 0, middle: widthPx / 2, end: widthPx }[anchor];
  return [
    `<rect x="${short(start - pad)}" y="${short(first - sizePx - pad)}" width="${short(widthPx + 2 * pad)}" height="${short(heightPx + 2 * pad)}" fill="${escapeHtml(label.bgcolor)}"/>`,
    ...texts,
  ].join('\n');
}
