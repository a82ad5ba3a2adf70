import { Panel, Widget } from '@lumino/widgets';
import { element } from './dom.js';
import type { FileList } from './file-list.js';

/** The column on the left: notebooks and logs, and the contents of the open notebook, each foldable. */
export function createSide(files: FileList, outline: Widget, onCreate: () => void): Panel {
  const side = new Panel();
  side.addClass('kpw-Side');
  const create = element('button', {
    class: 'kpw-Button kpw-mod-quiet',
    text: '+ New',
    title: 'New notebook',
    onClick: onCreate,
  });
  const fileSection = element('details', { class: 'kpw-Section', attributes: { open: '' } }, [
    element('summary', { text: 'Notebooks' }),
    create,
    files.node,
  ]);
  const contents = new Panel();
  contents.addClass('kpw-Section');
  contents.addClass('kpw-Contents');
  const fold = element('button', {
    class: 'kpw-Fold',
    text: 'Contents',
    attributes: { 'aria-expanded': 'true' },
    onClick: () => {
      outline.setHidden(!outline.isHidden);
      fold.setAttribute('aria-expanded', String(!outline.isHidden));
    },
  });
  contents.addWidget(new Widget({ node: fold }));
  contents.addWidget(outline);
  side.addWidget(new Widget({ node: fileSection }));
  side.addWidget(contents);
  return side;
}
