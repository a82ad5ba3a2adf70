import { element } from './dom.js';

/** What is seen while no notebook is open. */
export function welcomeNode(options: {
  readonly logo: Node;
  readonly folderName: string;
  readonly notebooks: readonly { readonly label: string; readonly open: () => void }[];
  readonly onCreate: () => void;
}): HTMLElement {
  return element('div', { class: 'kpw-Welcome' }, [
    options.logo,
    element('h1', { text: 'Kelvin per Watt' }),
    element('p', {
      text: 'From logged load runs to the power cap a cooler can hold, with its confidence and its cost.',
    }),
    element('h2', { text: `Notebooks in ${options.folderName}` }),
    element('div', { class: 'kpw-Welcome-notebooks' }, [
      ...options.notebooks.map(({ label, open }) =>
        element('button', { class: 'kpw-Card', onClick: open }, [
          element('span', { text: label }),
          ...(label.startsWith('01-') ? [element('small', { text: 'Start here' })] : []),
        ]),
      ),
      element('button', { class: 'kpw-Card kpw-mod-new', text: '+ New notebook', onClick: options.onCreate }),
    ]),
    element('p', {
      class: 'kpw-Hint',
      text: 'A log dragged into this page is put beside the notebook and read by a new cell.',
    }),
  ]);
}
