// The page of the notebook app: started by the server's HTML, builds everything else.
import './styles.js';
import { PageConfig, PathExt } from '@jupyterlab/coreutils';
import { NotebookTracker } from '@jupyterlab/notebook';
import { CommandRegistry } from '@lumino/commands';
import { Widget } from '@lumino/widgets';
import { addNotebookCommands, type OpenNotebook } from './commands.js';
import { Completion } from './completion.js';
import { createDocuments } from './documents.js';
import { element } from './dom.js';
import { acceptDroppedLogs, insertLogCell } from './drop-logs.js';
import { createEditors } from './editors.js';
import { FileActions } from './file-actions.js';
import { FileList, fileCommands } from './file-list.js';
import { watchFile } from './file-watch.js';
import { createFrame } from './frame.js';
import { createHeader } from './header.js';
import { KernelActions } from './kernel-actions.js';
import { watchKernel } from './kernel-death.js';
import { KernelState } from './kernel-state.js';
import { bindKeys } from './key-bindings.js';
import { showKeys } from './key-list.js';
import { Notices } from './notices.js';
import { Outline } from './outline.js';
import { createRendering } from './rendering.js';
import { SavedState } from './saved-state.js';
import { createServices } from './services.js';
import { createSide } from './side.js';
import { Theme } from './theme.js';
import { createToolbar } from './toolbar.js';
import { watchTrust } from './trust.js';
import { welcomeNode } from './welcome.js';

async function start(): Promise<void> {
  const theme = new Theme();
  const services = createServices();
  const commands = new CommandRegistry();
  const editors = createEditors();
  const rendering = createRendering(editors.languages, theme);
  const documents = createDocuments(services, editors, rendering);
  const fileActions = new FileActions(documents.manager);
  const completion = new Completion(rendering);
  const tracker = new NotebookTracker({ namespace: 'notebook' });
  const outline = new Outline(tracker, rendering);
  const files = new FileList(services, commands, PageConfig.getOption('folderName'));
  const [saved, kernelState] = [new SavedState(), new KernelState()];
  let open: OpenNotebook;
  const notices = new Notices(() => open?.panel.content.activate());

  addNotebookCommands(commands, () => open, completion);
  addFileCommands();
  commands.addCommand('show-keys', { label: 'All keys', execute: () => showKeys(commands) });
  bindKeys(commands);

  const header = createHeader({
    theme,
    saved: saved.node,
    kernel: kernelState.node,
    onRename: () => {
      if (open !== undefined) void commands.execute(fileCommands.rename, { path: open.panel.context.path });
    },
    onHome: () => void showWelcome(true),
    onSide: () => frame.toggleSide(),
    onKeys: () => void commands.execute('show-keys'),
  });
  const frame = createFrame({
    header: header.node,
    side: createSide(files, outline.widget, () => void createNotebook()),
    toolbar: createToolbar(commands),
    notices: notices.node,
  });
  const { main } = frame;

  files.opened.connect((_, path) => void openNotebook(path, true));
  files.logChosen.connect((_, path) => void readInCell([path]));
  acceptDroppedLogs(document.body, {
    contents: services.contents,
    folder: droppedInto,
    readInCell: (names) => readInCell(names.map((name) => PathExt.join(droppedInto(), name))),
    onFiles: () => void files.refresh(),
  });
  window.addEventListener('popstate', () => void openFromAddress(false));
  window.addEventListener('beforeunload', (event) => {
    if (open?.panel.context.model.dirty === true) event.preventDefault();
  });

  await files.show('');
  await openFromAddress(false);
  document.body.dataset['ready'] = 'true';

  async function openFromAddress(remember: boolean): Promise<void> {
    const path = new URLSearchParams(location.search).get('notebook') ?? '';
    await (path === '' ? showWelcome(remember) : openNotebook(path, remember));
  }

  async function openNotebook(path: string, remember: boolean): Promise<void> {
    if (open?.panel.context.path === path) return;
    if (!(await close())) return;
    const panel = documents.open(path);
    if (panel === undefined) return;
    // Its place is taken by our own bar.
    panel.toolbar.parent = null;
    clearMain();
    main.addWidget(panel);
    open = { panel, kernel: new KernelActions(panel, documents.dialogs, notices) };
    frame.bar.hidden = false;
    if (remember) history.pushState(null, '', `/?notebook=${encodeURIComponent(path)}`);
    saved.show(panel);
    kernelState.show(panel);
    watchKernel(panel, open.kernel, notices);
    watchTrust(panel, notices);
    watchFile(panel, services.contents, notices);
    panel.context.pathChanged.connect((_, newPath) => nameIs(newPath));
    nameIs(path);
    try {
      await panel.context.ready;
    } catch {
      // The manager has said why. What could not be opened is not left on the page.
      await showWelcome(true);
      return;
    }
    await tracker.add(panel);
    await panel.revealed;
    outline.show(panel);
    await completion.follow(panel);
    panel.content.activate();
  }

  /** Puts the open notebook away, saved; false if it could not be saved and the person stays. */
  async function close(): Promise<boolean> {
    if (open === undefined) return true;
    const { panel } = open;
    await saved.settled();
    if (!panel.isDisposed && panel.context.isReady && panel.context.model.dirty) {
      try {
        await panel.context.save();
      } catch {
        return false;
      }
    }
    if (open?.panel !== panel) return close(); // another click was faster
    open = undefined;
    saved.show(undefined);
    kernelState.show(undefined);
    outline.show(undefined);
    notices.clear();
    if (!panel.isDisposed) panel.dispose();
    return true;
  }

  async function showWelcome(remember: boolean): Promise<void> {
    if (!(await close())) return;
    clearMain();
    frame.bar.hidden = true;
    if (remember) history.pushState(null, '', '/');
    nameIs('');
    const node = welcomeNode({
      logo: header.logo(),
      folderName: PageConfig.getOption('folderName'),
      notebooks: files.notebooks.map((path) => ({
        label: PathExt.basename(path, '.ipynb'),
        open: () => void openNotebook(path, true),
      })),
      onCreate: () => void createNotebook(),
    });
    main.addWidget(new Widget({ node }));
  }

  function clearMain(): void {
    for (const widget of [...main.widgets]) widget.dispose();
  }

  function nameIs(path: string): void {
    const name = PathExt.basename(path, '.ipynb');
    header.name = name;
    document.title = name === '' ? 'Kelvin per Watt' : `${name} · Kelvin per Watt`;
    files.current = path;
    if (path !== '' && new URLSearchParams(location.search).get('notebook') !== path)
      history.replaceState(null, '', `/?notebook=${encodeURIComponent(path)}`);
  }

  async function createNotebook(): Promise<void> {
    const path = await fileActions.create(files.folder);
    if (path === undefined) return;
    await files.refresh();
    await openNotebook(path, true);
  }

  function droppedInto(): string {
    return open === undefined ? files.folder : PathExt.dirname(open.panel.context.localPath);
  }

  /** A cell that reads these logs; in a new notebook where none is open. */
  async function readInCell(paths: readonly string[]): Promise<void> {
    if (open === undefined) await createNotebook();
    if (open !== undefined) insertLogCell(open.panel, paths.map(nameFromNotebook));
  }

  function nameFromNotebook(path: string): string {
    return PathExt.relative(PathExt.dirname(open?.panel.context.localPath ?? ''), path);
  }

  function addFileCommands(): void {
    const add = (id: string, label: string, run: (path: string) => Promise<unknown>): void => {
      commands.addCommand(id, {
        label,
        execute: async (args) => {
          await run(String(args['path']));
          await files.refresh();
        },
      });
    };
    add(fileCommands.rename, 'Rename…', (path) => fileActions.rename(path));
    add(fileCommands.duplicate, 'Duplicate', async (path) => {
      // The copy is of what is seen, also where it was not saved yet; a failure is said by the context itself.
      if (open?.panel.context.path === path && open.panel.context.model.dirty)
        await open.panel.context.save().catch(() => undefined);
      await fileActions.duplicate(path);
    });
    add(fileCommands.stopKernel, 'Stop its kernel', (path) => fileActions.stopKernel(path));
    add(fileCommands.delete, 'Delete…', async (path) => {
      const isOpen = open?.panel.context.path === path;
      if ((await fileActions.delete(path)) && isOpen) {
        open = undefined;
        await files.refresh();
        await showWelcome(true);
      }
    });
    add(fileCommands.insertLog, 'Insert a cell that reads it', (path) => readInCell([path]));
  }
}

start().catch((problem: unknown) => {
  console.error(problem);
  const text = problem instanceof Error ? problem.message : String(problem);
  document.body.append(
    element('div', { class: 'kpw-Failure', attributes: { role: 'alert' } }, [
      element('h1', { text: 'The page could not start' }),
      element('p', { text }),
    ]),
  );
});
