import type { Axis, Datum, Figure, Trace } from '../figures/figure.js';
import { escapeHtml } from './html-text.js';
import { plainFigureText } from './still-picture-text.js';
import type { Table, TableCell } from './table.js';
import { tableHtml } from './table-html.js';

const mostRows = 12;

/**
 * A picture in words and numbers, for readers without scripts and for screen readers: its title, what it shows,
 * and every line at up to twelve points.
 */
export function stillFigure(figure: Figure): string {
  const { title, description } = figure.layout.meta;
  return [
    `<p><strong>${escapeHtml(title)}</strong></p>`,
    `<p>${escapeHtml(description)}</p>`,
    `<details><summary>The numbers behind the picture</summary>${figureNumbers(figure)}</details>`,
  ].join('\n');
}

/** Every line of a picture as a table, at up to twelve points. */
export function figureNumbers(figure: Figure): string {
  const shown = figure.data.filter((trace) => trace.fill === undefined && trace.x.length > 0);
  return shown.map((trace) => tableHtml(tableOf(trace, figure))).join('\n');
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
