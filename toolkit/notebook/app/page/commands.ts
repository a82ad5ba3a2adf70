import { NotebookActions, type NotebookPanel } from '@jupyterlab/notebook';
import type { CommandRegistry } from '@lumino/commands';
import type { Completion } from './completion.js';
import { closeFind, openFind } from './find.js';
import { dismissHelp, toggleHelp } from './help-tooltip.js';
import type { KernelActions } from './kernel-actions.js';

/** The notebook that commands work on, with its kernel; undefined while none is open. */
export type OpenNotebook = { readonly panel: NotebookPanel; readonly kernel: KernelActions } | undefined;

/** Adds all commands on the open notebook. */
export function addNotebookCommands(
  commands: CommandRegistry,
  open: () => OpenNotebook,
  completion: Completion,
): void {
  const add = (
    id: string,
    label: string,
    run: (notebook: NonNullable<OpenNotebook>) => unknown,
    isEnabled: (notebook: NonNullable<OpenNotebook>) => boolean = () => true,
  ): void => {
    commands.addCommand(id, {
      label,
      isEnabled: () => {
        const notebook = open();
        return notebook !== undefined && isEnabled(notebook);
      },
      execute: () => {
        const notebook = open();
        return notebook === undefined ? undefined : run(notebook);
      },
    });
  };
  const onCells = (
    id: string,
    label: string,
    action: (notebook: NotebookPanel['content']) => unknown,
  ): void =>
    add(id, label, ({ panel }) => {
      const result = action(panel.content);
      if (panel.content.mode === 'command') void NotebookActions.focusActiveCell(panel.content);
      return result;
    });

  add('run', 'Run', ({ kernel }) => kernel.run('advance'));
  add('run-stay', 'Run, stay here', ({ kernel }) => kernel.run('stay'));
  add('run-insert', 'Run, new cell below', ({ kernel }) => kernel.run('insert'));
  add('run-all', 'Run all', ({ kernel }) => kernel.run('all'));
  add('run-above', 'Run all above', ({ kernel }) => kernel.run('above'));
  add('run-below', 'Run this and all below', ({ kernel }) => kernel.run('below'));
  add('interrupt', 'Interrupt', ({ kernel }) => kernel.interrupt());
  add('restart', 'Restart', ({ kernel }) => kernel.restart());
  add('restart-run-all', 'Restart and run all', ({ kernel }) => kernel.restartAndRunAll());
  // A failure, and a question that was left open, are said by the context itself.
  add('save', 'Save', ({ panel }) => panel.context.save().catch(() => undefined));
  add('find', 'Find and replace', ({ panel }) => openFind(panel));
  add('find-close', 'Close find', ({ panel }) => closeFind(panel));
  add('help', 'Help on the name at the cursor', ({ panel }) => toggleHelp(panel));
  add('complete', 'Complete', ({ panel }) => completion.invoke(panel));
  add('complete-select', 'Take the completion', ({ panel }) => completion.select(panel));

  onCells('insert-above', 'Insert cell above', NotebookActions.insertAbove);
  onCells('insert-below', 'Insert cell below', NotebookActions.insertBelow);
  onCells('insert-text', 'Insert text below', (notebook) => {
    NotebookActions.insertBelow(notebook);
    NotebookActions.changeCellType(notebook, 'markdown');
    notebook.mode = 'edit';
  });
  onCells('delete-cell', 'Delete cell', NotebookActions.deleteCells);
  onCells('cut-cell', 'Cut cell', NotebookActions.cut);
  onCells('copy-cell', 'Copy cell', NotebookActions.copy);
  onCells('paste-below', 'Paste cell below', (notebook) => NotebookActions.paste(notebook, 'below'));
  onCells('paste-above', 'Paste cell above', (notebook) => NotebookActions.paste(notebook, 'above'));
  onCells('undo-cells', 'Undo on cells', NotebookActions.undo);
  onCells('redo-cells', 'Redo on cells', NotebookActions.redo);
  onCells('to-code', 'Make it code', (notebook) => NotebookActions.changeCellType(notebook, 'code'));
  onCells('to-text', 'Make it text', (notebook) => NotebookActions.changeCellType(notebook, 'markdown'));
  onCells('to-raw', 'Make it raw', (notebook) => NotebookActions.changeCellType(notebook, 'raw'));
  onCells('move-up', 'Move cell up', NotebookActions.moveUp);
  onCells('move-down', 'Move cell down', NotebookActions.moveDown);
  onCells('merge', 'Merge cells', (notebook) => NotebookActions.mergeCells(notebook));
  onCells('split', 'Split cell', (notebook) => NotebookActions.splitCell(notebook));
  onCells('toggle-output', 'Fold output', NotebookActions.toggleOutput);
  onCells('select-all', 'Select all cells', NotebookActions.selectAll);
  onCells('select-above', 'Cell above', NotebookActions.selectAbove);
  onCells('select-below', 'Cell below', NotebookActions.selectBelow);
  onCells('extend-above', 'Extend selection up', (notebook) =>
    NotebookActions.extendSelectionAbove(notebook),
  );
  onCells('extend-below', 'Extend selection down', (notebook) =>
    NotebookActions.extendSelectionBelow(notebook),
  );
  onCells('line-numbers', 'Line numbers', NotebookActions.toggleAllLineNumbers);
  onCells('clear-outputs', 'Clear all outputs', NotebookActions.clearAllOutputs);
  for (const level of [1, 2, 3])
    onCells(`heading-${level}`, `Heading ${level}`, (notebook) =>
      NotebookActions.setMarkdownHeader(notebook, level),
    );

  add('edit-mode', 'Write in the cell', ({ panel }) => {
    panel.content.mode = 'edit';
  });
  add('command-mode', 'Leave the cell', ({ panel }) => {
    // The first Escape takes the help away, the second leaves the cell.
    if (dismissHelp()) return;
    panel.content.mode = 'command';
    void NotebookActions.focusActiveCell(panel.content);
  });
  add('undo-text', 'Undo', ({ panel }) => panel.content.activeCell?.editor?.undo());
  add('redo-text', 'Redo', ({ panel }) => panel.content.activeCell?.editor?.redo());
}
