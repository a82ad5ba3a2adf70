import type { Axis, Datum, Figure, Trace } from '../../figures/figure.js';
import { escapeHtml } from '../html-text.js';
import type { Table, TableCell } from '../tables/table.js';
import { tableHtml } from '../tables/table-html.js';
import { plainFigureText } from './still-picture-text.js';

const mostRows = 12;

/**
 * A picture in words and numbers, folded: what it shows, and every line at up to twelve points. For readers who cannot see
 * it, and for those who want its numbers.
 */
export function figureInWords(figure: Figure): string {
  const shown = figure.data.filter((trace) => trace.fill === undefined && trace.x.length > 0);
  const numbers = shown.map((trace) => tableHtml(tableOf(trace, figure))).join('\n');
  return `<details><summary>The picture in words and numbers</summary><p>${escapeHtml(figure.layout.meta.description)}</p>
${numbers}</details>`;
}

function tableOf(trace: Trace, figure: Figure): Table {
  const x = axisOf(figure, trace.xaxis ?? 'x');
  const y = axisOf(figure, trace.yaxis ?? 'y');
  const indices = spreadIndices(trace.x.length);
  const thinnedNote =
    indices.length < trace.x.length ? [`${indices.length} of ${trace.x.length} points.`] : [];
  return {
    kind: 'table',
    title: trace.name,
    columns: [{ name: titleOf(x) }, { name: titleOf(y) }],
    rows: indices.map((i) => [cell(trace.x[i]!, x), cell(trace.y[i] ?? null, y)]),
    notes: thinnedNote,
  };
}

/** First, last, and evenly spread between. */
function spreadIndices(count: number): readonly number[] {
  if (count <= mostRows) return Array.from({ length: count }, (_, i) => i);
  return Array.from({ length: mostRows }, (_, i) => Math.round((i * (count - 1)) / (mostRows - 1)));
}

function cell(value: Datum, axis: Axis | undefined): TableCell {
  if (typeof value !== 'number') return value;
  const name = axis?.tickvals?.indexOf(value) ?? -1;
  const text = name >= 0 ? axis?.ticktext?.[name] : undefined;
  return text === undefined ? value : plainFigureText(text);
}

function axisOf(figure: Figure, reference: string): Axis | undefined {
  const name = `${reference[0]}axis${reference.slice(1)}`;
  return (figure.layout as unknown as Readonly<Record<string, Axis | undefined>>)[name];
}

function titleOf(axis: Axis | undefined): string {
  return plainFigureText(axis?.title?.text ?? '');
}
