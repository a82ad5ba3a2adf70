import {
  formatNotebook,
  type Notebook,
  type NotebookCell,
  parseNotebook,
} from '../../document/notebook-file.js';
import type { CellOutput } from '../../kernel/messages/outputs.js';

/**
 * A notebook file as the page wants it: texts whole instead of lists of lines, and every code cell marked as trusted or
 * not, whatever the file says about itself.
 */
export function notebookFromDisk(text: string, name: string, trusted: boolean): Notebook {
  const notebook = parseNotebook(text, name);
  requireOutputs(notebook, (value) => typeof value === 'string' || Array.isArray(value));
  return { ...notebook, cells: notebook.cells.map((cell) => marked(withWholeTexts(cell), trusted)) };
}

/** The file of a notebook that the page sends: names in order, so that version control shows only what changed. */
export function notebookToDisk(notebook: Notebook): string {
  const text = formatNotebook({ ...notebook, cells: notebook.cells.map(withoutMark) });
  return `${JSON.stringify(inOrder(JSON.parse(text)), null, 1)}\n`;
}

/** A notebook as the page sends it. Throws `ArgumentError` or `TypeError` for what could not be read again. */
export function notebookFromPage(content: unknown, name: string): Notebook {
  const notebook = parseNotebook(JSON.stringify(content ?? null), name);
  requireOutputs(notebook, (value) => typeof value === 'string');
  return notebook;
}

function requireOutputs({ cells }: Notebook, isText: (value: unknown) => boolean): void {
  const isOutput = (output: CellOutput | null): boolean =>
    typeof output?.output_type === 'string' &&
    !('data' in output && (typeof output.data !== 'object' || output.data === null)) &&
    !(output.output_type === 'stream' && !isText(output.text));
  for (const { outputs = [] } of cells)
    if (!Array.isArray(outputs) || !outputs.every(isOutput))
      throw new TypeError('an output of a cell is in no form of nbformat 4');
}

/** Whether all that could run in the page comes from here: outputs of trusted cells only. */
export function isTrusted(notebook: Notebook): boolean {
  return notebook.cells.every(
    (cell) => cell.cell_type !== 'code' || cell.metadata['trusted'] === true || !cell.outputs?.length,
  );
}

function withWholeTexts(cell: NotebookCell): NotebookCell {
  const attachments = cell['attachments' as keyof NotebookCell] as object | null | undefined;
  return {
    ...cell,
    ...(cell.outputs === undefined ? {} : { outputs: cell.outputs.map(withWholeText) }),
    ...(attachments === undefined || attachments === null
      ? {}
      : { attachments: mapValues(attachments, wholeBundle) }),
  };
}

function withWholeText(output: CellOutput): CellOutput {
  if ('text' in output) return { ...output, text: whole(output.text) as string };
  if ('data' in output) return { ...output, data: wholeBundle(output.data) } as CellOutput;
  return output;
}

function wholeBundle(bundle: unknown): object {
  return mapValues(bundle ?? {}, (value, type) => (isJsonType(type) ? value : whole(value)));
}

function whole(text: unknown): unknown {
  return Array.isArray(text) ? text.join('') : text;
}

function isJsonType(type: string): boolean {
  return /^application\/(.*\+)?json$/.test(type);
}

function marked(cell: NotebookCell, trusted: boolean): NotebookCell {
  return cell.cell_type === 'code' ? { ...cell, metadata: { ...cell.metadata, trusted } } : cell;
}

function withoutMark(cell: NotebookCell): NotebookCell {
  const { trusted: _, ...metadata } = cell.metadata;
  return { ...cell, metadata };
}

function mapValues(record: object, change: (value: unknown, name: string) => unknown): object {
  return Object.fromEntries(Object.entries(record).map(([name, value]) => [name, change(value, name)]));
}

function inOrder(value: unknown): unknown {
  if (Array.isArray(value)) return value.map(inOrder);
  if (typeof value !== 'object' || value === null) return value;
  const entries = Object.entries(value).map(([name, inner]) => [name, inOrder(inner)] as const);
  return Object.fromEntries(entries.sort(([a], [b]) => (a < b ? -1 : a > b ? 1 : 0)));
}
