import { MessageLoop } from '@lumino/messaging';
import { StackedPanel, Widget } from '@lumino/widgets';
import { element } from './dom.js';

/** The page's parts in their places: styles lay them out, widgets hear when their room changes. */
export interface Frame {
  /** Holds the notebook or the first sight. */
  readonly main: StackedPanel;
  /** The bar above the notebook. */
  readonly bar: HTMLElement;
  toggleSide(): void;
}

/** Puts the parts of the page together. */
export function createFrame(parts: {
  readonly header: HTMLElement;
  readonly side: Widget;
  readonly toolbar: HTMLElement;
  readonly notices: HTMLElement;
}): Frame {
  const bar = element('div', { class: 'kpw-Bar' }, [parts.toolbar, parts.notices]);
  bar.hidden = true;
  const mainPlace = element('main', { class: 'kpw-MainPlace' });
  const sidePlace = element('nav', { class: 'kpw-SidePlace', label: 'Notebooks and contents' });
  const work = element('div', { class: 'kpw-Work' }, [bar, mainPlace]);
  const body = element('div', { class: 'kpw-Body' }, [sidePlace, work]);
  document.body.append(element('div', { class: 'kpw-Frame' }, [parts.header, body]));
  const main = new StackedPanel();
  main.addClass('kpw-Main');
  Widget.attach(parts.side, sidePlace);
  Widget.attach(main, mainPlace);
  new ResizeObserver(() => MessageLoop.postMessage(main, Widget.ResizeMessage.UnknownSize)).observe(
    mainPlace,
  );
  return {
    main,
    bar,
    toggleSide() {
      sidePlace.hidden = !sidePlace.hidden;
    },
  };
}
