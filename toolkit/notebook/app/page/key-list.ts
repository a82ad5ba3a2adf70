import { Dialog, showDialog } from '@jupyterlab/apputils';
import type { CommandRegistry } from '@lumino/commands';
import { Widget } from '@lumino/widgets';
import { element } from './dom.js';
import { type KeyBinding, keyBindings } from './key-bindings.js';

const isMac = /Mac|iP(hone|ad)/.test(navigator.platform);

/** Shows all keys and what they do. */
export async function showKeys(commands: CommandRegistry): Promise<void> {
  const sections: readonly (readonly [string, readonly KeyBinding['where'][]])[] = [
    ['Everywhere', ['notebook', 'page']],
    ['While writing in a cell', ['edit', 'completer', 'code']],
    ['With a cell selected (Escape)', ['command']],
  ];
  const node = element(
    'div',
    { class: 'kpw-Keys' },
    sections.map(([title, places]) =>
      element('section', {}, [
        element('h3', { text: title }),
        element(
          'dl',
          {},
          keyBindings
            .filter(({ where }) => places.includes(where))
            .flatMap(({ keys, command }) => [
              element('dt', {}, [element('kbd', { text: keys.map(inWords).join(' ') })]),
              element('dd', { text: commands.label(command) }),
            ]),
        ),
      ]),
    ),
  );
  await showDialog({
    title: 'Keys',
    body: new Widget({ node }),
    buttons: [Dialog.okButton({ label: 'Close' })],
  });
}

function inWords(keys: string): string {
  return keys
    .replace('Accel', isMac ? '⌘' : 'Ctrl')
    .replace('Arrow', '')
    .replaceAll(' ', '-');
}
