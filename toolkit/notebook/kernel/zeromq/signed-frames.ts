import { createHmac, timingSafeEqual } from 'node:crypto';
import type { JupyterMessage, KernelChannel } from '../messages/jupyter-message.js';

// The wire protocol of Jupyter over ZeroMQ: identities, delimiter, signature, header, parent header, metadata, content.
const delimiter = '<IDS|MSG>';

// Whatever a cell puts in their place.
const { stringify, parse } = JSON;

/** A message as the frames that go over a socket; an empty key means unsigned. */
export function signedFrames(
  message: JupyterMessage,
  key: string,
  identities: readonly (Buffer | string)[] = [],
): (Buffer | string)[] {
  const { header, parent_header, metadata, content } = message;
  const parts = [header, parent_header, metadata, content].map((part) => stringify(part));
  return [...identities, delimiter, signatureOf(parts, key), ...parts];
}

/** The message in the frames and who sent it; `undefined` where the signature is not ours or the frames are broken. */
export function verifiedMessage(
  frames: readonly Buffer[],
  channel: KernelChannel,
  key: string,
): { readonly message: JupyterMessage; readonly identities: readonly Buffer[] } | undefined {
  const at = frames.findIndex((frame) => frame.equals(Buffer.from(delimiter)));
  const signature = frames[at + 1];
  const parts = frames.slice(at + 2, at + 6);
  if (at === -1 || signature === undefined || parts.length < 4) return undefined;
  const expected = Buffer.from(signatureOf(parts, key));
  if (signature.length !== expected.length || !timingSafeEqual(signature, expected)) return undefined;
  try {
    const [header, parent_header, metadata, content] = parts.map((part) => parse(part.toString()));
    if (typeof header?.msg_type !== 'string' || typeof header.msg_id !== 'string') return undefined;
    return {
      message: { channel, header, parent_header, metadata, content: content ?? {} },
      identities: frames.slice(0, at),
    };
  } catch {
    return undefined;
  }
}

function signatureOf(parts: readonly (Buffer | string)[], key: string): string {
  if (key === '') return '';
  const hmac = createHmac('sha256', key);
  for (const part of parts) hmac.update(part);
  return hmac.digest('hex');
}
