import type { IntervalBars, Shape, Trace } from '../../figures/figure.js';
import { escapeHtml } from '../html-text.js';
import type { Scale } from './still-picture-axes.js';
import { short } from './still-picture-text.js';

/** A place on the picture. */
type Point = readonly [number, number];

const dashes: Readonly<Record<string, string>> = { dash: '8 5', dot: '2 4', dashdot: '8 4 2 4' };

/** A line, band or set of points with its intervals. */
export function traceSvg(trace: Trace, x: Scale, y: Scale): string {
  const parts: string[] = [];
  const pieces = piecesOf(trace, x, y);
  if (trace.fill === 'toself') parts.push(bandSvg(trace, pieces));
  else if (trace.mode.includes('lines')) parts.push(lineSvg(trace, pieces));
  parts.push(intervalsSvg(trace, x, y));
  if (trace.mode.includes('markers')) parts.push(markersSvg(trace, x, y));
  return parts.filter((part) => part !== '').join('\n');
}

/** A line or a shaded rectangle in data units, or across the whole panel. */
export function shapeSvg(shape: Shape, x: Scale, y: Scale): string {
  const [x0, x1] = [shape.x0, shape.x1].map((value) =>
    shape.xref.endsWith('domain') ? along(x, value) : x.ofDatum(value),
  );
  const [y0, y1] = [shape.y0, shape.y1].map((value) =>
    shape.yref.endsWith('domain') ? along(y, value) : y.ofDatum(value),
  );
  if (x0 === undefined || x1 === undefined || y0 === undefined || y1 === undefined) return '';
  const stroke = strokeOf(shape.line);
  if (shape.type === 'line')
    return `<line x1="${short(x0)}" y1="${short(y0)}" x2="${short(x1)}" y2="${short(y1)}"${stroke}/>`;
  const [left, right] = inOrder(x0, x1);
  const [top, bottom] = inOrder(y0, y1);
  const fill = escapeHtml(shape.fillcolor ?? 'none');
  return `<rect x="${short(left)}" y="${short(top)}" width="${short(right - left)}" height="${short(bottom - top)}" fill="${fill}"${stroke}/>`;
}

/** A share of an axis as a place. */
export function along(scale: Scale, share: number): number {
  return scale.startPx + share * (scale.endPx - scale.startPx);
}

/** Stretches without a gap. */
function piecesOf(trace: Trace, x: Scale, y: Scale): readonly (readonly Point[])[] {
  const pieces: Point[][] = [[]];
  for (let i = 0; i < trace.x.length; i += 1) {
    const px = x.ofDatum(trace.x[i]);
    const py = y.ofDatum(trace.y[i]);
    if (px === undefined || py === undefined) pieces.push([]);
    else pieces.at(-1)?.push([px, py]);
  }
  return pieces.filter((piece) => piece.length > 0);
}

function lineSvg(trace: Trace, pieces: readonly (readonly Point[])[]): string {
  const path = pieces.map((piece) => pathOf(withoutHiddenPoints(piece))).join('');
  return `<path d="${path}" fill="none" stroke-linejoin="round"${strokeOf({ width: 2, ...trace.line })}/>`;
}

function bandSvg(trace: Trace, pieces: readonly (readonly Point[])[]): string {
  const path = pieces.map((piece) => `${pathOf(piece)}Z`).join('');
  const stroke = (trace.line?.width ?? 0) === 0 ? '' : strokeOf(trace.line);
  return `<path d="${path}" fill="${escapeHtml(trace.fillcolor ?? 'none')}"${stroke}/>`;
}

/** What a line of thousands of points looks like: in each column of pixels its first, lowest, highest and last. */
function withoutHiddenPoints(piece: readonly Point[]): readonly Point[] {
  const kept: Point[] = [];
  let column: Point[] = [];
  const finish = (): void => {
    if (column.length <= 4) kept.push(...column);
    else {
      const lowest = column.reduce((a, b) => (b[1] > a[1] ? b : a));
      const highest = column.reduce((a, b) => (b[1] < a[1] ? b : a));
      const chosen = new Set([column[0], lowest, highest, column.at(-1)]);
      kept.push(...column.filter((point) => chosen.has(point)));
    }
    column = [];
  };
  for (const point of piece) {
    if (column.length > 0 && Math.round(column[0][0]) !== Math.round(point[0])) finish();
    column.push(point);
  }
  finish();
  return kept;
}

function pathOf(points: readonly Point[]): string {
  return points.map(([x, y], i) => `${i === 0 ? 'M' : 'L'}${short(x)} ${short(y)}`).join('');
}

function intervalsSvg(trace: Trace, x: Scale, y: Scale): string {
  if (trace.error_x === undefined && trace.error_y === undefined) return '';
  const bars: string[] = [];
  const bar = (intervals: IntervalBars, i: number, from: Point, to: Point): void => {
    const cap = intervals.width ?? 4;
    const across: Point = from[1] === to[1] ? [0, cap] : [cap, 0];
    const caps = [from, to].map(([x, y]) =>
      pathOf([
        [x - across[0], y - across[1]],
        [x + across[0], y + across[1]],
      ]),
    );
    const stroke = strokeOf({
      color: intervals.color ?? colorOf(trace, i),
      width: intervals.thickness ?? 2,
    });
    bars.push(`<path d="${[pathOf([from, to]), ...caps].join('')}" fill="none"${stroke}/>`);
  };
  for (let i = 0; i < trace.x.length; i += 1) {
    const [vx, vy] = [trace.x[i], trace.y[i]];
    const [px, py] = [x.ofDatum(vx), y.ofDatum(vy)];
    if (px === undefined || py === undefined || typeof vx !== 'number' || typeof vy !== 'number') continue;
    const ends = (intervals: IntervalBars | undefined, value: number, scale: Scale): Point | undefined => {
      const [minus, plus] = [intervals?.arrayminus[i], intervals?.array[i]];
      if (typeof minus !== 'number' || typeof plus !== 'number') return undefined;
      const [low, high] = [scale.ofDatum(value - minus), scale.ofDatum(value + plus)];
      return low === undefined || high === undefined ? undefined : [low, high];
    };
    const across = ends(trace.error_x, vx, x);
    if (across !== undefined && trace.error_x !== undefined)
      bar(trace.error_x, i, [across[0], py], [across[1], py]);
    const upright = ends(trace.error_y, vy, y);
    if (upright !== undefined && trace.error_y !== undefined)
      bar(trace.error_y, i, [px, upright[0]], [px, upright[1]]);
  }
  return bars.join('\n');
}

function markersSvg(trace: Trace, x: Scale, y: Scale): string {
  const radius = (trace.marker?.size ?? 6) / 2;
  const edge =
    trace.marker?.line?.width === undefined || trace.marker.line.width === 0
      ? ''
      : strokeOf(trace.marker.line);
  const marks: string[] = [];
  for (let i = 0; i < trace.x.length; i += 1) {
    const [px, py] = [x.ofDatum(trace.x[i]), y.ofDatum(trace.y[i])];
    if (px === undefined || py === undefined) continue;
    const symbol = trace.marker?.symbol;
    const name = typeof symbol === 'string' ? symbol : (symbol?.[i] ?? 'circle');
    const fill = escapeHtml(colorOf(trace, i));
    marks.push(markSvg(name, px, py, radius, `fill="${fill}"${edge}`));
  }
  return marks.join('\n');
}

function markSvg(symbol: string, x: number, y: number, radius: number, look: string): string {
  const isOpen = symbol.endsWith('-open');
  const name = isOpen ? symbol.slice(0, -'-open'.length) : symbol;
  const painted = isOpen
    ? look.replace(/^fill="([^"]*)"/, 'fill="none" stroke="$1" stroke-width="1.5"')
    : look;
  if (name === 'square')
    return `<rect x="${short(x - radius)}" y="${short(y - radius)}" width="${short(2 * radius)}" height="${short(2 * radius)}" ${painted}/>`;
  const corners = cornersOf(name, radius);
  if (corners === undefined)
    return `<circle cx="${short(x)}" cy="${short(y)}" r="${short(radius)}" ${painted}/>`;
  return `<path d="${pathOf(corners.map(([dx, dy]) => [x + dx, y + dy]))}Z" ${painted}/>`;
}

function cornersOf(name: string, radius: number): readonly Point[] | undefined {
  const wide = radius * 1.3;
  switch (name) {
    case 'diamond':
      return [
        [0, -wide],
        [wide, 0],
        [0, wide],
        [-wide, 0],
      ];
    case 'triangle-up':
      return [
        [0, -wide],
        [wide, radius],
        [-wide, radius],
      ];
    case 'triangle-down':
      return [
        [0, wide],
        [-wide, -radius],
        [wide, -radius],
      ];
    default:
      return undefined;
  }
}

function colorOf(trace: Trace, index: number): string {
  const color = trace.marker?.color;
  return (typeof color === 'string' ? color : color?.[index]) ?? trace.line?.color ?? 'currentColor';
}

function strokeOf(
  line: { readonly color?: string; readonly width?: number; readonly dash?: string } | undefined,
): string {
  if (line === undefined || line.width === 0) return '';
  const dash = dashes[line.dash ?? ''];
  return ` stroke="${escapeHtml(line.color ?? 'currentColor')}" stroke-width="${line.width ?? 1}"${dash === undefined ? '' : ` stroke-dasharray="${dash}"`}`;
}

function inOrder(a: number, b: number): readonly [number, number] {
  return a <= b ? [a, b] : [b, a];
}
