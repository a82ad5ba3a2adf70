import type { CommandRegistry } from '@lumino/commands';
import { element } from './dom.js';
import { type IconName, icon } from './icons.js';

const groups: readonly (readonly (readonly [
  command: string,
  icon: IconName,
  text: string,
  tip: string,
])[])[] = [
  [
    ['run', 'run', 'Run', 'Run the cell and go on (Shift-Enter)'],
    ['run-all', 'runAll', 'Run all', 'Run all cells from top to bottom'],
    ['interrupt', 'interrupt', 'Interrupt', 'Stop the running cell, keep what was computed (I I)'],
    ['restart-run-all', 'restart', 'Restart and run all', 'Begin afresh: a new kernel, then all cells'],
  ],
  [
    ['insert-below', 'add', 'Code', 'New code cell below (B)'],
    ['insert-text', 'add', 'Text', 'New text cell below'],
  ],
  [
    ['undo-cells', 'undo', '', 'Undo the last change of cells (Z)'],
    ['find', 'find', '', 'Find and replace (Ctrl-F)'],
    ['save', 'save', '', 'Save now (Ctrl-S)'],
  ],
];

/** What is done most, in words. */
export function createToolbar(commands: CommandRegistry): HTMLElement {
  return element(
    'div',
    { class: 'kpw-Toolbar', attributes: { role: 'toolbar', 'aria-label': 'Notebook' } },
    groups.map((group) =>
      element(
        'div',
        { class: 'kpw-Toolbar-group' },
        group.map(([command, iconName, text, tip]) => {
          const button = element('button', {
            class: 'kpw-Button',
            title: tip,
            onClick: () => void commands.execute(command),
            attributes: { 'data-command': command, ...(text === '' ? { 'aria-label': tip } : {}) },
          });
          button.append(icon(iconName));
          if (text !== '') button.append(element('span', { text }));
          // The cell keeps the focus, so that keys go on working after a click.
          button.addEventListener('mousedown', (event) => event.preventDefault());
          return button;
        }),
      ),
    ),
  );
}
