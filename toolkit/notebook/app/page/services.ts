import { ContentsManager, type Event, ServerConnection, ServiceManager } from '@jupyterlab/services';
import { Signal } from '@lumino/signaling';
import { CarefulDrive } from './careful-drive.js';

/** The page's side of the server: files, kernels, sessions. */
export function createServices(): ServiceManager {
  // The server takes nothing that a form of another site could send as well.
  const serverSettings = ServerConnection.makeSettings({
    init: { cache: 'no-store', credentials: 'same-origin', headers: { 'Content-Type': 'application/json' } },
  });
  const drive = new CarefulDrive({ serverSettings });
  return new ServiceManager({
    serverSettings,
    contents: new ContentsManager({ serverSettings, defaultDrive: drive }),
    events: noEvents(serverSettings),
    standby: 'when-hidden',
  });
}

/** Our server has no stream of events; without this the page would try to reach it forever. */
function noEvents(serverSettings: ServerConnection.ISettings): Event.IManager {
  const stream = new Signal<Event.IManager, Event.Emission>({} as Event.IManager) as unknown as Event.Stream;
  return { serverSettings, isDisposed: false, dispose: () => {}, emit: async () => {}, stream };
}
