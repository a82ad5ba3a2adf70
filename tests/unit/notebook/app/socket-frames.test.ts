import { createRequire } from 'node:module';
import { describe, expect, it } from 'vitest';
import {
  decodeFrame,
  encodeFrame,
  socketProtocol,
} from '../../../../toolkit/notebook/app/server/socket-frames.js';
import type { JupyterMessage } from '../../../../toolkit/notebook/kernel/messages/jupyter-message.js';
import { createMessageMaker } from '../../../../toolkit/notebook/kernel/messages/message-maker.js';

// The client of JupyterLab is the outside that our frames are held against.
const { serialize, deserialize } = createRequire(import.meta.url)(
  '@jupyterlab/services/lib/kernel/serialize',
) as {
  serialize(message: object, protocol: string): ArrayBuffer;
  deserialize(frame: ArrayBuffer, protocol: string): JupyterMessage;
};

const maker = createMessageMaker({ username: 'kernel' });
const request = maker.make('shell', 'execute_request', { code: 'const größe = "π °C";' });
const messages = [
  request,
  maker.make('iopub', 'stream', { name: 'stdout', text: 'line\n'.repeat(1000) }, request),
  maker.make('control', 'interrupt_request', {}),
];

describe('frames of the kernel protocol', () => {
  it.each(messages)('are read by the client of JupyterLab: %#', (message) => {
    const frame = encodeFrame(message);
    const bytes = frame.buffer.slice(frame.byteOffset, frame.byteOffset + frame.length) as ArrayBuffer;
    expect(deserialize(bytes, socketProtocol)).toMatchObject(message);
  });

  it.each(messages)('are read from the client of JupyterLab: %#', (message) => {
    const frame = Buffer.from(serialize({ ...message, buffers: [] }, socketProtocol));
    expect(decodeFrame(frame)).toEqual(message);
  });

  it('are refused wherever they are cut off', () => {
    const frame = encodeFrame(request);
    for (let length = 0; length < frame.length; length += 1)
      expect(() => decodeFrame(frame.subarray(0, length))).toThrow(
        /no frame|no header|no channel|JSON|no part/,
      );
  });
});
