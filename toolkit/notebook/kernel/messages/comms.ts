import type { MessageContent } from './jupyter-message.js';

/** One end of a conversation between a cell and a page: what the protocol calls a comm. */
export interface Comm {
  readonly id: string;
  readonly targetName: string;
  /** Called with what the page sends. */
  onMessage?: (data: unknown) => void;
  /** Called when the page ends the conversation. */
  onClose?: (data: unknown) => void;
  send(data: unknown): void;
  close(data?: unknown): void;
}

/** The comms of a kernel; `publish` sends a message to all pages. */
export class Comms {
  readonly #publish: (type: string, content: MessageContent) => void;
  readonly #newId: () => string;
  readonly #targets = new Map<string, (comm: Comm, data: unknown) => void>();
  readonly #open = new Map<string, Comm>();

  constructor(publish: (type: string, content: MessageContent) => void, newId: () => string) {
    this.#publish = publish;
    this.#newId = newId;
  }

  /** Opens a comm towards the pages. */
  open(targetName: string, data: unknown = {}): Comm {
    const comm = this.#add(this.#newId(), targetName);
    this.#publish('comm_open', { comm_id: comm.id, target_name: targetName, data });
    return comm;
  }

  /** Takes comms that pages open with this name. */
  onOpen(targetName: string, handler: (comm: Comm, data: unknown) => void): void {
    this.#targets.set(targetName, handler);
  }

  /** Takes a message of a page about a comm. */
  receive(type: 'comm_open' | 'comm_msg' | 'comm_close', content: MessageContent): void {
    const id = String(content['comm_id']);
    const data = content['data'];
    if (type === 'comm_open') {
      const targetName = String(content['target_name']);
      const handler = this.#targets.get(targetName);
      // The protocol's answer to an unknown name: close at once.
      if (handler === undefined) this.#publish('comm_close', { comm_id: id, data: {} });
      else handler(this.#add(id, targetName), data);
      return;
    }
    const comm = this.#open.get(id);
    if (type === 'comm_msg') comm?.onMessage?.(data);
    else {
      this.#open.delete(id);
      comm?.onClose?.(data);
    }
  }

  /** The open comms, all or those of one name, as `comm_info_reply` lists them. */
  list(targetName?: string): Readonly<Record<string, { readonly target_name: string }>> {
    const listed = [...this.#open.values()].filter(
      (comm) => targetName === undefined || comm.targetName === targetName,
    );
    return Object.fromEntries(listed.map((comm) => [comm.id, { target_name: comm.targetName }]));
  }

  #add(id: string, targetName: string): Comm {
    const comm: Comm = {
      id,
      targetName,
      send: (data) => {
        if (this.#open.has(id)) this.#publish('comm_msg', { comm_id: id, data });
      },
      close: (data = {}) => {
        if (this.#open.delete(id)) this.#publish('comm_close', { comm_id: id, data });
      },
    };
    this.#open.set(id, comm);
    return comm;
  }
}
