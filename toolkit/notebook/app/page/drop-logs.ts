import { Dialog, showDialog } from '@jupyterlab/apputils';
import { PathExt } from '@jupyterlab/coreutils';
import { NotebookActions, type NotebookPanel } from '@jupyterlab/notebook';
import type { Contents } from '@jupyterlab/services';
import { isLogName } from '../../../logs/read/log-name.js';
import { logCellCode } from './log-cell.js';

const mostFileBytes = 100 * 1024 * 1024;

/** What dropping files needs of the page around it. */
export interface DropTarget {
  readonly contents: Contents.IManager;
  /** Reads logs of that folder in a cell. */
  readInCell(names: readonly string[]): Promise<void>;
  /** Folder that files go to: the notebook's, or the one that is listed. */
  folder(): string;
  /** Told when files have come. */
  onFiles(): void;
}

/** Lets log files be dragged into the page: each goes beside the notebook, and a cell that reads them comes in. */
export function acceptDroppedLogs(node: HTMLElement, target: DropTarget): void {
  let depth = 0;
  const mark = (change: number): void => {
    depth = Math.max(0, depth + change);
    node.classList.toggle('kpw-mod-dropping', depth > 0);
  };
  node.addEventListener('dragenter', (event) => hasFiles(event) && mark(1), true);
  node.addEventListener('dragleave', (event) => hasFiles(event) && mark(-1), true);
  node.addEventListener(
    'dragover',
    (event) => {
      if (hasFiles(event)) event.preventDefault();
    },
    true,
  );
  node.addEventListener(
    'drop',
    (event) => {
      if (!hasFiles(event)) return;
      mark(-depth);
      const files = [...(event.dataTransfer?.files ?? [])];
      // Pictures dropped on a text cell are attached to it, as Jupyter does.
      if (files.every(({ type }) => type.startsWith('image/'))) return;
      event.preventDefault();
      event.stopPropagation();
      void takeIn(files, target);
    },
    true,
  );
}

/** Inserts a cell that reads these logs below the active one. */
export function insertLogCell(panel: NotebookPanel, names: readonly string[]): void {
  const { content } = panel;
  const { activeCell } = content;
  const isEmpty = activeCell?.model.type === 'code' && activeCell.model.sharedModel.getSource().trim() === '';
  if (!isEmpty) NotebookActions.insertBelow(content);
  if (content.activeCell?.model.type !== 'code') NotebookActions.changeCellType(content, 'code');
  content.activeCell?.model.sharedModel.setSource(logCellCode(names));
  content.mode = 'command';
  void NotebookActions.focusActiveCell(content);
}

async function takeIn(files: readonly File[], target: DropTarget): Promise<void> {
  const saved: string[] = [];
  for (const file of files) {
    try {
      const name = await save(file, target);
      if (name !== undefined) saved.push(name);
    } catch (problem) {
      await showDialog({
        title: `“${file.name}” was not taken in`,
        body: problem instanceof Error ? problem.message : String(problem),
        buttons: [Dialog.okButton()],
      });
    }
  }
  if (saved.length > 0) target.onFiles();
  const logs = saved.filter(isLogName);
  if (logs.length > 0) await target.readInCell(logs);
  // Notebooks and logs show in the list; of other files nothing would be seen.
  const others = saved.filter((name) => !isLogName(name) && !name.endsWith('.ipynb'));
  if (others.length > 0)
    await showDialog({
      title: `Taken in: ${others.join(', ')}`,
      body: 'By the name this is no log, so there is no cell that reads it. It lies beside the notebook, where logs and cells find it.',
      buttons: [Dialog.okButton()],
    });
}

/** Saves a file; under another name where the name is taken, if the person does not want it replaced. */
async function save(file: File, { contents, folder }: DropTarget): Promise<string | undefined> {
  if (file.size > mostFileBytes)
    throw new Error(
      `It is larger than ${mostFileBytes / 1024 / 1024} MB. Copy it into the notebook's folder instead and read it with kpw.readRun.`,
    );
  let name = file.name;
  const taken = new Set(
    ((await contents.get(folder())).content as readonly Contents.IModel[]).map((entry) => entry.name),
  );
  if (taken.has(name)) {
    const { button } = await showDialog({
      title: `There is a file “${name}” already`,
      body: 'Replace it, or keep both?',
      buttons: [
        Dialog.cancelButton(),
        Dialog.okButton({ label: 'Keep both', actions: ['both'] }),
        Dialog.warnButton({ label: 'Replace', actions: ['replace'] }),
      ],
      defaultButton: 1,
    });
    if (!button.accept) return undefined;
    if (button.actions.includes('both')) name = freeName(name, taken);
  }
  await contents.save(PathExt.join(folder(), name), {
    type: 'file',
    format: 'base64',
    content: await base64Of(file),
  });
  return name;
}

function freeName(name: string, taken: ReadonlySet<string>): string {
  const extension = PathExt.extname(name);
  const stem = name.slice(0, name.length - extension.length);
  for (let count = 2; ; count += 1) {
    const free = `${stem}-${count}${extension}`;
    if (!taken.has(free)) return free;
  }
}

function base64Of(file: File): Promise<string> {
  return new Promise((resolve, reject) => {
    const reader = new FileReader();
    reader.onload = () => resolve(String(reader.result).replace(/^[^,]*,/, ''));
    reader.onerror = () => reject(reader.error ?? new Error('It could not be read.'));
    reader.readAsDataURL(file);
  });
}

function hasFiles(event: DragEvent): boolean {
  return event.dataTransfer?.types.includes('Files') === true;
}
