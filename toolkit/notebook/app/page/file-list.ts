import { PathExt } from '@jupyterlab/coreutils';
import type { Contents, ServiceManager } from '@jupyterlab/services';
import type { CommandRegistry } from '@lumino/commands';
import { type ISignal, Signal } from '@lumino/signaling';
import { Menu } from '@lumino/widgets';
import { isLogName } from '../../../logs/read/log-name.js';
import { element } from './dom.js';

/** Commands that the list's menu offers; each gets the path of the entry. */
export const fileCommands = {
  rename: 'files:rename',
  duplicate: 'files:duplicate',
  delete: 'files:delete',
  stopKernel: 'files:stop-kernel',
  insertLog: 'files:insert-log',
} as const;

/** Notebooks, folders and logs of one folder. */
export class FileList {
  readonly node: HTMLElement = element('div', { class: 'kpw-FileList' });
  readonly #services: ServiceManager;
  readonly #menu: Menu;
  readonly #opened = new Signal<this, string>(this);
  readonly #logChosen = new Signal<this, string>(this);
  readonly #folderName: string;
  #folder = '';
  #current = '';
  #entries: readonly Contents.IModel[] = [];
  #menuOrigin: HTMLElement | undefined;

  constructor(services: ServiceManager, commands: CommandRegistry, folderName: string) {
    this.#services = services;
    this.#folderName = folderName;
    this.#menu = new Menu({ commands });
    this.#menu.addClass('kpw-Menu');
    // Whoever came by keys is where they were, also when a dialog that the menu has opened goes away.
    this.#menu.aboutToClose.connect(() => this.#menuOrigin?.focus());
    services.sessions.runningChanged.connect(() => this.#draw());
  }

  get folder(): string {
    return this.#folder;
  }

  /** A notebook was chosen. */
  get opened(): ISignal<this, string> {
    return this.#opened;
  }

  /** A log was chosen. */
  get logChosen(): ISignal<this, string> {
    return this.#logChosen;
  }

  get notebooks(): readonly string[] {
    return this.#entries.filter(({ type }) => type === 'notebook').map(({ path }) => path);
  }

  /** Marks the notebook that is open. */
  set current(path: string) {
    this.#current = path;
    this.#draw();
  }

  async show(folder: string): Promise<void> {
    this.#folder = folder;
    await this.refresh();
  }

  async refresh(): Promise<void> {
    const { content } = await this.#services.contents.get(this.#folder);
    this.#entries = content as readonly Contents.IModel[];
    this.#draw();
  }

  #draw(): void {
    const running = new Set([...this.#services.sessions.running()].map(({ path }) => path));
    const of = (type: string): readonly Contents.IModel[] =>
      this.#entries.filter((entry) => entry.type === type);
    const notebooks = of('notebook').map((entry) =>
      this.#row(entry, {
        icon: 'notebook',
        label: PathExt.basename(entry.path, '.ipynb'),
        running: running.has(entry.path),
        onClick: () => this.#opened.emit(entry.path),
      }),
    );
    const folders = of('directory').map((entry) =>
      this.#row(entry, { icon: 'folder', label: entry.name, onClick: () => void this.show(entry.path) }),
    );
    const logs = of('file')
      .filter(({ name }) => isLogName(name))
      .map((entry) =>
        this.#row(entry, {
          icon: 'log',
          label: entry.name,
          title: `Insert a cell that reads ${entry.name}`,
          onClick: () => this.#logChosen.emit(entry.path),
        }),
      );
    const up =
      this.#folder === ''
        ? []
        : [
            element('li', {}, [
              element('button', {
                class: 'kpw-Entry',
                text: `‹ ${PathExt.dirname(this.#folder) || this.#folderName}`,
                title: 'To the folder above',
                onClick: () => void this.show(PathExt.dirname(this.#folder)),
              }),
            ]),
          ];
    const focused = [...this.node.querySelectorAll<Element>('button')].indexOf(
      document.activeElement ?? this.node,
    );
    this.node.replaceChildren(
      element('ul', { class: 'kpw-Entries' }, [...up, ...folders, ...notebooks]),
      ...(notebooks.length === 0 ? [element('p', { class: 'kpw-Hint', text: 'No notebook here yet.' })] : []),
      ...(logs.length === 0
        ? []
        : [element('h3', { text: 'Logs' }), element('ul', { class: 'kpw-Entries' }, logs)]),
    );
    if (focused !== -1) this.node.querySelectorAll('button')[focused]?.focus();
  }

  #row(
    entry: Contents.IModel,
    options: {
      readonly icon: string;
      readonly label: string;
      readonly title?: string;
      readonly running?: boolean;
      readonly onClick: () => void;
    },
  ): HTMLElement {
    const isCurrent = entry.path === this.#current;
    const open = element(
      'button',
      {
        class: 'kpw-Entry',
        title: options.title ?? entry.name,
        onClick: options.onClick,
        attributes: { 'data-icon': options.icon, ...(isCurrent ? { 'aria-current': 'page' } : {}) },
      },
      [
        element('span', { class: 'kpw-Entry-label', text: options.label }),
        ...(options.running === true
          ? [element('span', { class: 'kpw-Entry-running', title: 'Its kernel runs', label: 'kernel runs' })]
          : []),
      ],
    );
    const more = element('button', {
      class: 'kpw-Entry-more',
      text: '⋯',
      label: `More for ${entry.name}`,
      onClick: (event) => this.#openMenu(entry, options.running === true, event),
    });
    const row = element('li', { class: 'kpw-Entry-row' }, entry.type === 'directory' ? [open] : [open, more]);
    if (entry.type !== 'directory')
      row.addEventListener('contextmenu', (event) => {
        event.preventDefault();
        this.#openMenu(entry, options.running === true, event);
      });
    return row;
  }

  #openMenu(entry: Contents.IModel, running: boolean, event: MouseEvent): void {
    const args = { path: entry.path };
    this.#menu.clearItems();
    if (entry.type === 'file') this.#menu.addItem({ command: fileCommands.insertLog, args });
    if (running) this.#menu.addItem({ command: fileCommands.stopKernel, args });
    for (const command of [fileCommands.rename, fileCommands.duplicate, fileCommands.delete])
      this.#menu.addItem({ command, args });
    const origin = event.currentTarget as HTMLElement;
    this.#menuOrigin = origin.querySelector<HTMLElement>('.kpw-Entry-more') ?? origin;
    const box = origin.getBoundingClientRect();
    const isAtPointer = event.type === 'contextmenu';
    this.#menu.open(isAtPointer ? event.clientX : box.left, isAtPointer ? event.clientY : box.bottom);
  }
}
