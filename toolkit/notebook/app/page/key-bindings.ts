import type { CommandRegistry } from '@lumino/commands';

/** A key on what it does, for people: shown in the list of keys. */
export interface KeyBinding {
  readonly keys: readonly string[];
  readonly command: string;
  readonly where: 'command' | 'edit' | 'notebook' | 'page' | 'completer' | 'code' | 'find';
}

// Controls inside outputs keep their keys: sliders, fields and buttons of a panel are no cells.
const notControl = ':not(:read-write):not(input):not(select):not(textarea):not(button):not(summary):not(a)';

const selectors: Readonly<Record<KeyBinding['where'], string>> = {
  command: `.jp-Notebook.jp-mod-commandMode:not(.jp-mod-readWrite) :focus${notControl}`,
  edit: '.jp-Notebook.jp-mod-editMode',
  notebook: '.jp-Notebook',
  page: 'body',
  completer: '.jp-Notebook.jp-mod-editMode .jp-mod-completer-enabled:not(.jp-mod-at-line-beginning)',
  code: '.jp-Notebook .jp-InputArea-editor:not(.jp-mod-has-primary-selection):not(.jp-mod-in-leading-whitespace):not(.jp-mod-completer-active)',
  find: '.jp-DocumentSearch-overlay',
};

/** The habits of Jupyter. */
export const keyBindings: readonly KeyBinding[] = [
  { keys: ['Shift Enter'], command: 'run', where: 'notebook' },
  { keys: ['Ctrl Enter'], command: 'run-stay', where: 'notebook' },
  { keys: ['Alt Enter'], command: 'run-insert', where: 'notebook' },
  { keys: ['Accel S'], command: 'save', where: 'page' },
  { keys: ['Accel F'], command: 'find', where: 'page' },
  { keys: ['Escape'], command: 'find-close', where: 'find' },
  { keys: ['Escape'], command: 'command-mode', where: 'edit' },
  { keys: ['Ctrl M'], command: 'command-mode', where: 'edit' },
  { keys: ['Enter'], command: 'edit-mode', where: 'command' },
  { keys: ['Tab'], command: 'complete', where: 'completer' },
  { keys: ['Shift Tab'], command: 'help', where: 'code' },
  { keys: ['Accel Z'], command: 'undo-text', where: 'edit' },
  { keys: ['Accel Shift Z'], command: 'redo-text', where: 'edit' },
  { keys: ['Accel Y'], command: 'redo-text', where: 'edit' },
  { keys: ['Ctrl Shift -'], command: 'split', where: 'edit' },
  { keys: ['ArrowUp'], command: 'select-above', where: 'command' },
  { keys: ['ArrowDown'], command: 'select-below', where: 'command' },
  { keys: ['K'], command: 'select-above', where: 'command' },
  { keys: ['J'], command: 'select-below', where: 'command' },
  { keys: ['Shift ArrowUp'], command: 'extend-above', where: 'command' },
  { keys: ['Shift ArrowDown'], command: 'extend-below', where: 'command' },
  { keys: ['Shift K'], command: 'extend-above', where: 'command' },
  { keys: ['Shift J'], command: 'extend-below', where: 'command' },
  { keys: ['Accel A'], command: 'select-all', where: 'command' },
  { keys: ['A'], command: 'insert-above', where: 'command' },
  { keys: ['B'], command: 'insert-below', where: 'command' },
  { keys: ['D', 'D'], command: 'delete-cell', where: 'command' },
  { keys: ['X'], command: 'cut-cell', where: 'command' },
  { keys: ['C'], command: 'copy-cell', where: 'command' },
  { keys: ['V'], command: 'paste-below', where: 'command' },
  { keys: ['Shift V'], command: 'paste-above', where: 'command' },
  { keys: ['Z'], command: 'undo-cells', where: 'command' },
  { keys: ['Shift Z'], command: 'redo-cells', where: 'command' },
  { keys: ['Y'], command: 'to-code', where: 'command' },
  { keys: ['M'], command: 'to-text', where: 'command' },
  { keys: ['R'], command: 'to-raw', where: 'command' },
  { keys: ['1'], command: 'heading-1', where: 'command' },
  { keys: ['2'], command: 'heading-2', where: 'command' },
  { keys: ['3'], command: 'heading-3', where: 'command' },
  { keys: ['Shift M'], command: 'merge', where: 'command' },
  { keys: ['O'], command: 'toggle-output', where: 'command' },
  { keys: ['Shift L'], command: 'line-numbers', where: 'command' },
  { keys: ['Ctrl Shift ArrowUp'], command: 'move-up', where: 'notebook' },
  { keys: ['Ctrl Shift ArrowDown'], command: 'move-down', where: 'notebook' },
  { keys: ['I', 'I'], command: 'interrupt', where: 'command' },
  { keys: ['0', '0'], command: 'restart', where: 'command' },
  { keys: ['H'], command: 'show-keys', where: 'command' },
];

/** Binds the keys and starts listening. */
export function bindKeys(commands: CommandRegistry): void {
  for (const { keys, command, where } of keyBindings)
    commands.addKeyBinding({ keys: [...keys], command, selector: selectors[where] });
  // The completer takes Enter for itself while its list is open.
  commands.addKeyBinding({
    keys: ['Enter'],
    command: 'complete-select',
    selector: '.jp-Notebook .jp-mod-completer-active',
  });
  document.addEventListener('keydown', (event) => commands.processKeydownEvent(event), true);
}
