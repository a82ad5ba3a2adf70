import type { Figure } from '../figures/figure.js';
import type { ReportItem } from '../report/report-html.js';
import { panelMimeType, plotlyMimeType, reportItemMimeType } from './display-bundle.js';
import type { CellOutput } from './kernel/outputs.js';
import type { Notebook, NotebookCell } from './notebook-file.js';
import { htmlOfPanel } from './panel/panel.js';
import type { PanelData } from './panel/panel-data.js';

/** A notebook that has been run, as a report: its first heading is the title. */
export interface NotebookReport {
  readonly title: string;
  readonly items: readonly ReportItem[];
}

/** Tag of cells that matter only to a person who works in the notebook, not to a reader of the page. */
const notebookOnlyTag = 'notebook-only';
/** Tag of cells whose code a reader should see: what was asked. */
const shownTags = ['your-logs'];

/** Texts and outputs of a notebook in order, without its code except what was asked. */
export function reportOfNotebook(notebook: Notebook): NotebookReport {
  const cells = notebook.cells.filter((cell) => cell.metadata.tags?.includes(notebookOnlyTag) !== true);
  const [first] = cells;
  const heading = first?.cell_type === 'markdown' ? /^#\s+(.+?)\s*(?:\n|$)/.exec(first.source) : null;
  const items = cells.flatMap((cell, index) =>
    itemsOfCell(
      index === 0 && heading !== null ? { ...cell, source: cell.source.slice(heading[0].length) } : cell,
    ),
  );
  return { title: heading?.[1] ?? 'Notebook', items };
}

function itemsOfCell(cell: NotebookCell): readonly ReportItem[] {
  if (cell.cell_type === 'raw' || cell.source.trim() === '') return [];
  if (cell.cell_type === 'markdown') return [{ kind: 'markdown', text: oneLevelUp(cell.source) }];
  const isShown = shownTags.some((tag) => cell.metadata.tags?.includes(tag) === true);
  const outputs = (cell.outputs ?? []).map(itemOfOutput);
  return isShown ? [{ kind: 'code', text: cell.source }, ...outputs] : outputs;
}

/** The page's title has taken the first level: sections of the notebook are sections of the page. */
function oneLevelUp(markdown: string): string {
  return markdown.replaceAll(/^#(#+\s)/gm, '$1');
}

function itemOfOutput(output: CellOutput): ReportItem {
  if (output.output_type === 'stream') return { kind: 'output', text: output.text.trimEnd() };
  if (output.output_type === 'error') return { kind: 'output', text: output.traceback.join('\n') };
  const { data } = output;
  if (plotlyMimeType in data) return { kind: 'figure', figure: data[plotlyMimeType] as Figure };
  // Made again from its data: HTML that a file holds could be anybody's.
  if (panelMimeType in data) return { kind: 'live', html: htmlOfPanel(data[panelMimeType] as PanelData) };
  const item = data[reportItemMimeType] as ReportItem | undefined;
  if (item !== undefined && item.kind !== 'live') return item;
  return { kind: 'output', text: String(data['text/plain'] ?? '') };
}
