import { SessionContextDialogs } from '@jupyterlab/apputils';
import { DocumentManager } from '@jupyterlab/docmanager';
import { DocumentRegistry } from '@jupyterlab/docregistry';
import {
  NotebookModelFactory,
  NotebookPanel,
  NotebookWidgetFactory,
  runCell,
  StaticNotebook,
  setCellExecutor,
} from '@jupyterlab/notebook';
import type { ServiceManager } from '@jupyterlab/services';
import { Signal } from '@lumino/signaling';
import type { Editors } from './editors.js';
import type { Rendering } from './rendering.js';
import { words } from './words.js';

const factoryName = 'Notebook';
const kernelName = 'kelvin-per-watt';

/** Opens notebooks and keeps them in step with their files. */
export interface Documents {
  readonly dialogs: SessionContextDialogs;
  readonly manager: DocumentManager;
  /** The widget of a notebook; its content follows. Undefined if there can be none for this path. */
  open(path: string): NotebookPanel | undefined;
}

/** Makes the document manager and the kind of widget it opens. */
export function createDocuments(services: ServiceManager, editors: Editors, rendering: Rendering): Documents {
  setCellExecutor({ runCell });
  const registry = new DocumentRegistry({ translator: words });
  registry.addModelFactory(new NotebookModelFactory({}));
  registry.addWidgetFactory(
    new NotebookWidgetFactory({
      name: factoryName,
      modelName: 'notebook',
      fileTypes: ['notebook'],
      defaultFor: ['notebook'],
      preferKernel: true,
      canStartKernel: true,
      autoStartDefault: true,
      rendermime: rendering.registry,
      contentFactory: new NotebookPanel.ContentFactory({
        editorFactory: editors.factoryService.newInlineEditor,
      }),
      mimeTypeService: editors.mimeTypeService,
      notebookConfig: {
        ...StaticNotebook.defaultNotebookConfig,
        windowingMode: 'none',
        scrollPastEnd: false,
        defaultCell: 'code',
      },
      translator: words,
    }),
  );
  const dialogs = new SessionContextDialogs({ translator: words });
  const manager = new DocumentManager({
    registry,
    manager: services,
    opener: { open: () => {}, opened: new Signal({} as never) } as never,
    sessionDialogs: dialogs,
    translator: words,
  });
  // Saving by itself is ours: see `autosave.ts`.
  manager.autosave = false;
  return {
    dialogs,
    manager,
    open: (path) => manager.open(path, factoryName, { name: kernelName }) as NotebookPanel | undefined,
  };
}
