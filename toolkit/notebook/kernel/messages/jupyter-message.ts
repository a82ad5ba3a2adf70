/** The sockets of the Jupyter messaging protocol; over other transports a field of the message. */
export type KernelChannel = 'shell' | 'control' | 'stdin' | 'iopub';

/** Header of a message, as the Jupyter messaging protocol 5.3 defines it. */
export interface MessageHeader {
  readonly msg_id: string;
  readonly session: string;
  readonly username: string;
  /** ISO 8601. */
  readonly date: string;
  readonly msg_type: string;
  readonly version: string;
}

/** Content of a message; its fields depend on the type. */
export type MessageContent = Readonly<Record<string, unknown>>;

/** A Jupyter message as a plain JSON object, as it also travels over a WebSocket. */
export interface JupyterMessage {
  readonly channel: KernelChannel;
  readonly header: MessageHeader;
  /** Header of the request this message answers; empty where there is none. */
  readonly parent_header: MessageHeader | Readonly<Record<string, never>>;
  readonly metadata: Readonly<Record<string, unknown>>;
  readonly content: MessageContent;
}

/** Whether a value that came from outside has the form of a message. */
export function isJupyterMessage(value: unknown): value is JupyterMessage {
  const { channel, header, parent_header, content } = (value ?? {}) as Partial<JupyterMessage>;
  return (
    typeof channel === 'string' &&
    typeof header?.msg_type === 'string' &&
    typeof header.msg_id === 'string' &&
    [parent_header, content].every((part) => typeof part === 'object' && part !== null)
  );
}

/** The version of the Jupyter messaging protocol that we speak. */
export const protocolVersion = '5.3';
