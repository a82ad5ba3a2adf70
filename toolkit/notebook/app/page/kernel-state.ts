import type { ISessionContext } from '@jupyterlab/apputils';
import type { NotebookPanel } from '@jupyterlab/notebook';
import { element } from './dom.js';

const texts: Readonly<Record<string, string>> = {
  starting: 'Kernel starts…',
  idle: 'Kernel ready',
  busy: 'Kernel runs…',
  restarting: 'Kernel restarts…',
  dead: 'Kernel ended',
  connecting: 'Connecting…',
  disconnected: 'Server not reached',
  none: 'No kernel',
};

/** Says at every moment what the kernel does. */
export class KernelState {
  readonly node: HTMLElement;
  readonly #text: HTMLElement = element('span');
  #session: ISessionContext | undefined;

  constructor() {
    this.node = element('span', { class: 'kpw-KernelState', attributes: { role: 'status' } }, [
      element('span', { class: 'kpw-KernelState-dot', attributes: { 'aria-hidden': 'true' } }),
      this.#text,
    ]);
    this.node.hidden = true;
  }

  show(panel: NotebookPanel | undefined): void {
    this.#session?.statusChanged.disconnect(this.#update, this);
    this.#session?.connectionStatusChanged.disconnect(this.#update, this);
    this.#session?.kernelChanged.disconnect(this.#update, this);
    this.#session?.sessionChanged.disconnect(this.#update, this);
    this.#session = panel?.sessionContext;
    this.node.hidden = panel === undefined;
    this.#session?.statusChanged.connect(this.#update, this);
    this.#session?.connectionStatusChanged.connect(this.#update, this);
    this.#session?.kernelChanged.connect(this.#update, this);
    this.#session?.sessionChanged.connect(this.#update, this);
    this.#update();
  }

  #update(): void {
    const state = this.#session === undefined ? 'none' : kernelStateOf(this.#session);
    this.#text.textContent = texts[state] ?? state;
    this.node.dataset['state'] = state;
  }
}

/** The kernel's state in one of our words. */
export function kernelStateOf(context: ISessionContext): string {
  const kernel = context.session?.kernel;
  if (kernel === null || kernel === undefined) return context.isReady ? 'none' : 'starting';
  const { status, connectionStatus } = kernel;
  if (status === 'dead') return 'dead';
  if (connectionStatus !== 'connected')
    return connectionStatus === 'disconnected' ? 'disconnected' : 'connecting';
  if (status === 'restarting' || status === 'autorestarting') return 'restarting';
  if (status === 'unknown' || status === 'starting') return 'starting';
  return status === 'busy' ? 'busy' : status === 'idle' ? 'idle' : status;
}
