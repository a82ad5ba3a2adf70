import type { Figure } from '../../figures/figure.js';
import { figureShape } from '../../report/models/figure-shape.js';
import { isRecord, type Shape } from '../../report/models/shape.js';
import type { ReportItem } from '../../report/page/report-html.js';
import { panelMimeType, plotlyMimeType, reportItemMimeType } from '../display/display-bundle.js';
import type { CellOutput, MimeBundle } from '../kernel/messages/outputs.js';
import { htmlOfPanel } from '../panel/panel.js';
import type { PanelData } from '../panel/panel-data.js';
import type { Notebook, NotebookCell } from './notebook-file.js';
import { panelShape, reportItemShape } from './output-shapes.js';

/** A notebook with its outputs, as a report: its first heading is the title. */
export interface NotebookReport {
  readonly title: string;
  readonly items: readonly ReportItem[];
  /** Outputs that could not be shown as they are, in words; the page says the same in their place. */
  readonly leftOut: readonly string[];
}

/** Tag of cells that matter only to a person who works in the notebook, not to a reader of the page. */
const notebookOnlyTag = 'notebook-only';
/** Tag of cells whose code a reader should see: what was asked. */
const shownTags = ['your-logs'];

/**
 * Texts and outputs of a notebook in order, without its code except what was asked. The outputs may be anybody's: HTML in
 * them is never used, and whatever is not in a known form is left out, with words in its place.
 */
export function reportOfNotebook(notebook: Notebook, untitled: string = 'Notebook'): NotebookReport {
  const cells = notebook.cells.filter((cell) => cell.metadata.tags?.includes?.(notebookOnlyTag) !== true);
  const [first] = cells;
  const heading = first?.cell_type === 'markdown' ? /^#\s+(.+?)\s*(?:\n|$)/.exec(first.source) : null;
  const leftOut: string[] = [];
  const items = cells.flatMap((cell, index) =>
    itemsOfCell(
      index === 0 && heading !== null ? { ...cell, source: cell.source.slice(heading[0].length) } : cell,
      leftOut,
    ),
  );
  return { title: heading?.[1] ?? untitled, items, leftOut };
}

function itemsOfCell(cell: NotebookCell, leftOut: string[]): readonly ReportItem[] {
  if (cell.cell_type === 'raw' || cell.source.trim() === '') return [];
  if (cell.cell_type === 'markdown') return [{ kind: 'markdown', text: oneLevelUp(cell.source) }];
  const isShown = shownTags.some((tag) => cell.metadata.tags?.includes?.(tag) === true);
  const outputs = (cell.outputs ?? []).map((output) => itemOfOutput(output, leftOut));
  return isShown ? [{ kind: 'code', text: cell.source }, ...outputs] : outputs;
}

/** The page's title has taken the first level: sections of the notebook are sections of the page. */
function oneLevelUp(markdown: string): string {
  return markdown
    .split(/(^```[\s\S]*?(?:^```|$(?![\s\S])))/m)
    .map((part) => (part.startsWith('```') ? part : part.replaceAll(/^#(#+\s)/gm, '$1')))
    .join('');
}

function itemOfOutput(output: CellOutput, leftOut: string[]): ReportItem {
  const without = (reason: string): ReportItem => {
    leftOut.push(reason);
    return { kind: 'output', text: reason };
  };
  if (output.output_type === 'stream') return { kind: 'output', text: plain(String(output.text)) };
  if (output.output_type === 'error') {
    const lines = Array.isArray(output.traceback) ? output.traceback : [];
    return { kind: 'output', text: plain((lines.length > 0 ? lines : [output.evalue]).join('\n')) };
  }
  if (!isRecord(output.data)) return without('An output that holds no data is left out.');
  const data: MimeBundle = output.data;
  if (plotlyMimeType in data) {
    const figure = data[plotlyMimeType];
    const problem = mismatchOf(figureShape, figure, 'figure');
    if (problem !== undefined)
      return without(`A picture that is none of this toolkit, or was changed, is left out: ${problem}.`);
    return { kind: 'figure', figure: figure as Figure };
  }
  if (panelMimeType in data) {
    const panel = data[panelMimeType];
    const problem = mismatchOf(panelShape, panel, 'panel');
    if (problem !== undefined)
      return without(`A panel cannot be made from what the notebook holds: ${problem}. Run its cell again.`);
    try {
      // Made again from its data: HTML that a file holds could be anybody's.
      return { kind: 'live', html: htmlOfPanel(panel as PanelData) };
    } catch (cause) {
      const reason = cause instanceof Error ? cause.message : String(cause);
      return without(`A panel cannot be made from what the notebook holds: ${reason}. Run its cell again.`);
    }
  }
  if (reportItemMimeType in data) {
    const item = data[reportItemMimeType];
    const problem = mismatchOf(reportItemShape, item, 'output');
    if (problem !== undefined) return without(`An output in no known form is left out: ${problem}.`);
    return item as ReportItem;
  }
  const text = data['text/plain'];
  if (typeof text !== 'string')
    return without(`An output without plain text is left out (${Object.keys(data).join(', ')}).`);
  return { kind: 'output', text };
}

/** What was printed, without the codes by which terminals colour it. */
function plain(printed: string): string {
  // biome-ignore lint/suspicious/noControlCharactersInRegex: those codes begin with one
  return printed.replaceAll(/\u001b\[[\d;]*m/g, '').trimEnd();
}

/** What is wrong with a value, in words: which field, what it must be. */
function mismatchOf(shape: Shape, value: unknown, name: string): string | undefined {
  const mismatch = shape(value, name);
  return mismatch === undefined ? undefined : `\`${mismatch.path}\` must be ${mismatch.expected}`;
}
