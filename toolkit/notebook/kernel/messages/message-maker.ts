import { randomUUID } from 'node:crypto';
import {
  type JupyterMessage,
  type KernelChannel,
  type MessageContent,
  type MessageHeader,
  protocolVersion,
} from './jupyter-message.js';

// Whatever a cell puts in its place.
const Clock = globalThis.Date;

/** Makes messages of one sender: kernel and clients each have a session of their own. */
export interface MessageMaker {
  readonly session: string;
  make(
    channel: KernelChannel,
    type: string,
    content: MessageContent,
    parent?: JupyterMessage,
    metadata?: Readonly<Record<string, unknown>>,
  ): JupyterMessage;
}

/** A maker of messages; the session is a new one unless given. */
export function createMessageMaker(options: {
  readonly username: string;
  readonly session?: string;
}): MessageMaker {
  const session = options.session ?? randomUUID();
  return {
    session,
    make(channel, type, content, parent, metadata = {}) {
      const header: MessageHeader = {
        msg_id: randomUUID(),
        session,
        username: options.username,
        date: new Clock().toISOString(),
        msg_type: type,
        version: protocolVersion,
      };
      return { channel, header, parent_header: parent?.header ?? {}, metadata, content };
    },
  };
}
