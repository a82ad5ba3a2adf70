import type { JupyterMessage, KernelChannel } from '../../kernel/messages/jupyter-message.js';

/** Name of the WebSocket subprotocol, as the Jupyter server documents it. */
export const socketProtocol = 'v1.kernel.websocket.jupyter.org';

const channels: ReadonlySet<string> = new Set<KernelChannel>(['shell', 'control', 'stdin', 'iopub']);

/**
 * A message as a binary frame: count of offsets, offsets, channel, header, parent header, metadata, content; all
 * numbers 64-bit little-endian.
 */
export function encodeFrame(message: JupyterMessage): Buffer {
  const { channel, header, parent_header, metadata, content } = message;
  const parts = [
    Buffer.from(channel),
    ...[header, parent_header, metadata, content].map((part) => Buffer.from(JSON.stringify(part))),
  ];
  const offsetCount = parts.length + 1;
  const head = Buffer.alloc(8 * (1 + offsetCount));
  head.writeBigUInt64LE(BigInt(offsetCount), 0);
  let offset = head.length;
  head.writeBigUInt64LE(BigInt(offset), 8);
  for (const [index, part] of parts.entries()) {
    offset += part.length;
    head.writeBigUInt64LE(BigInt(offset), 8 * (index + 2));
  }
  return Buffer.concat([head, ...parts]);
}

/** The message in a frame; throws `RangeError` or `SyntaxError` for what is none. Binary buffers are dropped. */
export function decodeFrame(frame: Buffer): JupyterMessage {
  const offsetCount = frame.length < 8 ? 0 : Number(frame.readBigUInt64LE(0));
  if (offsetCount < 6 || 8 * (1 + offsetCount) > frame.length) throw new RangeError('no frame of a message');
  const offsets = Array.from({ length: offsetCount }, (_, i) => Number(frame.readBigUInt64LE(8 * (i + 1))));
  const first = 8 * (1 + offsetCount);
  if (offsets.some((offset, i) => offset < (i === 0 ? first : offsets[i - 1]) || offset > frame.length))
    throw new RangeError('no frame of a message');
  const textAt = (index: number): string => frame.toString('utf8', offsets[index], offsets[index + 1]);
  const channel = textAt(0);
  if (!channels.has(channel)) throw new RangeError('no channel of a kernel');
  const [header, parent_header, metadata, content] = [1, 2, 3, 4].map((index) => recordIn(textAt(index)));
  const { msg_id: id, msg_type: type, session } = header as Record<string, unknown>;
  if (typeof id !== 'string' || typeof type !== 'string' || typeof session !== 'string')
    throw new RangeError('no header of a message');
  return { channel, header, parent_header, metadata, content } as unknown as JupyterMessage;
}

function recordIn(text: string): object {
  const value: unknown = JSON.parse(text);
  if (typeof value !== 'object' || value === null || Array.isArray(value))
    throw new RangeError('no part of a message');
  return value;
}
