import { inspect, types } from 'node:util';
import { escapeHtml } from '../../report/html-text.js';
import { lightMarkdown } from '../../report/page/light-markdown.js';
import type { ReportItem } from '../../report/page/report-html.js';
import { tableText } from '../../report/tables/table.js';
import { tableHtml } from '../../report/tables/table-html.js';
import { tableOfFindings } from '../../report/tables/table-of-findings.js';
import type { MimeBundle } from '../kernel/messages/outputs.js';
import { htmlOfPanel, type Panel, textOfPanel } from '../panel/panel.js';
import { figureHtml } from './display-figure.js';
import { displayItems, isChoice } from './display-items.js';

/** Plotly figure JSON; notebook pages that know it draw the figure themselves. */
export const plotlyMimeType = 'application/vnd.plotly.v1+json';
/** An item for a report page, so that a page made from outputs shows what the notebook showed. */
export const reportItemMimeType = 'application/vnd.kelvin-per-watt.report-item+json';
/** The caps themselves, a list of `CapChoice`, so that a program that runs the notebook can read the decision. */
export const capChoicesMimeType = 'application/vnd.kelvin-per-watt.cap-choices+json';
/** What a panel is made from, so that a page made from outputs can make it again. */
export const panelMimeType = 'application/vnd.kelvin-per-watt.panel+json';

/** A value as display bundles, in order; every bundle holds `text/plain`, ours hold `text/html` too. */
export function displayBundles(value: unknown): readonly MimeBundle[] {
  if (isPanel(value)) return [bundleOfPanel(value)];
  const items = displayItems(value);
  if (items === undefined || items.length === 0) return [{ 'text/plain': textOf(value) }];
  const bundles = items.map(bundleOfItem);
  const choices = (Array.isArray(value) ? value : [value]).filter(isChoice);
  return choices.length === 0
    ? bundles
    : [{ ...bundles[0], [capChoicesMimeType]: choices }, ...bundles.slice(1)];
}

function isPanel(value: unknown): value is Panel {
  return typeof value === 'object' && value !== null && (value as { kind?: unknown }).kind === 'panel';
}

function bundleOfPanel({ data }: Panel): MimeBundle {
  return { [panelMimeType]: data, 'text/html': htmlOfPanel(data), 'text/plain': textOfPanel(data) };
}

function bundleOfItem(item: ReportItem): MimeBundle {
  switch (item.kind) {
    case 'figure': {
      const { title, description } = item.figure.layout.meta;
      return {
        [plotlyMimeType]: item.figure,
        'text/html': figureHtml(item.figure),
        'text/plain': `${title}\n${description}`,
      };
    }
    case 'table':
      return {
        [reportItemMimeType]: item,
        'text/html': leftAligned(tableHtml(item.table)),
        'text/plain': tableText(item.table),
      };
    case 'findings': {
      const table = tableOfFindings(item.findings);
      return {
        [reportItemMimeType]: item,
        'text/html': leftAligned(tableHtml(table)),
        'text/plain': tableText(table),
      };
    }
    case 'markdown':
      return {
        [reportItemMimeType]: item,
        'text/html': lightMarkdown(item.text),
        'text/markdown': item.text,
        'text/plain': item.text.replaceAll('**', ''),
      };
    case 'heading': {
      const level = item.level ?? 2;
      return {
        [reportItemMimeType]: item,
        'text/html': `<h${level}>${escapeHtml(item.text)}</h${level}>`,
        'text/plain': item.text,
      };
    }
    case 'live':
      return { 'text/html': item.html, 'text/plain': 'A part of the page that runs by itself.' };
    default:
      return {
        [reportItemMimeType]: item,
        'text/html': `<pre>${escapeHtml(item.text)}</pre>`,
        'text/plain': item.text,
      };
  }
}

/** Notebook pages put every cell of a table to the right, as numbers want it; words are read from the left. */
function leftAligned(table: string): string {
  return table.replaceAll(/<(td|th scope="col")>/g, '<$1 style="text-align: left">');
}

/** More of a text no page shows in a moment. */
const mostCharacters = 1_000_000;

function textOf(value: unknown): string {
  if (typeof value === 'string')
    return value.length <= mostCharacters
      ? value
      : `${value.slice(0, mostCharacters)}\n… ${(value.length - mostCharacters).toLocaleString('en-GB')} more characters: write the text to a file to see all of it`;
  const text = inspect(value, { depth: 4, maxArrayLength: 50 });
  return types.isPromise(value) ? `${text}: write await before the call to wait for its value` : text;
}
