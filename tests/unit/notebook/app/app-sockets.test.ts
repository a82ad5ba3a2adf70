import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { WebSocket } from 'ws';
import {
  decodeFrame,
  encodeFrame,
  socketProtocol,
} from '../../../../toolkit/notebook/app/server/socket-frames.js';
import { createMessageMaker } from '../../../../toolkit/notebook/kernel/messages/message-maker.js';
import { startTestServer, type TestServer } from './test-server.js';

let server: TestServer;
let kernelId: string;
const page = createMessageMaker({ username: 'page', session: 'page-1' });
const kernelSide = createMessageMaker({ username: 'kernel' });

beforeAll(async () => {
  server = await startTestServer();
  const { json } = await server.ask('POST', '/api/sessions', {
    body: { path: 'a.ipynb', name: 'a', type: 'notebook', kernel: { name: 'kelvin-per-watt' } },
  });
  kernelId = json.kernel.id;
});
afterAll(() => server.close());

interface Options {
  readonly path?: string;
  readonly session?: string;
  readonly headers?: Record<string, string>;
  readonly protocols?: string[];
}

function socketTo({
  path = `/api/kernels/${kernelId}/channels`,
  session = 'page-1',
  headers = {},
  protocols = [socketProtocol],
}: Options = {}): WebSocket {
  const host = `127.0.0.1:${server.app.port}`;
  return new WebSocket(`ws://${host}${path}?session_id=${session}&token=${server.token}`, protocols, {
    headers: { Origin: `http://${host}`, ...headers },
  });
}

const opened = (socket: WebSocket): Promise<void> =>
  new Promise((resolve, reject) => {
    socket.once('open', resolve);
    socket.once('error', reject);
  });
const nextFrame = (socket: WebSocket): Promise<ReturnType<typeof decodeFrame>> =>
  new Promise((resolve) => {
    socket.once('message', (data: Buffer) => resolve(decodeFrame(data)));
  });
const closed = (socket: WebSocket): Promise<number> =>
  new Promise((resolve) => {
    socket.once('close', (code) => resolve(code));
  });

describe('sockets of a kernel', () => {
  it.each<[string, Options, RegExp]>([
    ['of another site', { headers: { Origin: 'http://evil.example' } }, /403/],
    ['of another local server', { headers: { Origin: 'http://127.0.0.1:1' } }, /403/],
    ['to a rebound name', { headers: { Host: 'evil.example' } }, /403/],
    ['to no kernel', { path: '/api/kernels/none/channels' }, /404/],
    ['elsewhere', { path: '/api/kernels' }, /404/],
    ['that speak something else', { protocols: ['other'] }, /400/],
  ])('are refused: %s', async (_, options, message) => {
    await expect(opened(socketTo(options))).rejects.toThrow(message);
  });

  it('are refused without an origin: no browser leaves it out', async () => {
    const socket = new WebSocket(
      `ws://127.0.0.1:${server.app.port}/api/kernels/${kernelId}/channels?token=${server.token}`,
      [socketProtocol],
    );
    await expect(opened(socket)).rejects.toThrow(/403/);
  });

  it('carry messages both ways', async () => {
    const socket = socketTo();
    await opened(socket);
    const request = page.make('shell', 'execute_request', { code: 'π' });
    socket.send(encodeFrame(request));
    const [kernel] = server.kernels;
    await expect.poll(() => kernel.sent.at(-1)).toEqual(request);
    const frame = nextFrame(socket);
    const reply = kernelSide.make('shell', 'execute_reply', { status: 'ok' }, request);
    kernel.say(reply);
    expect(await frame).toEqual(reply);
    socket.close();
    await closed(socket);
  });

  it('bring replies to the page that asked and outputs to all', async () => {
    const [mine, other] = [socketTo(), socketTo({ session: 'page-2' })];
    await Promise.all([opened(mine), opened(other)]);
    const request = page.make('shell', 'complete_request', { code: 'k' });
    const [toMine, toOther] = [nextFrame(mine), nextFrame(other)];
    const [kernel] = server.kernels;
    kernel.say(kernelSide.make('shell', 'complete_reply', { status: 'ok' }, request));
    kernel.say(kernelSide.make('iopub', 'stream', { name: 'stdout', text: 'x' }, request));
    expect((await toMine).header.msg_type).toBe('complete_reply');
    expect((await toOther).header.msg_type).toBe('stream');
    for (const socket of [mine, other]) {
      socket.close();
      await closed(socket);
    }
  });

  it('give a page that comes back what it missed, and another page nothing', async () => {
    const socket = socketTo();
    await opened(socket);
    socket.close();
    await closed(socket);
    const [kernel] = server.kernels;
    await expect
      .poll(async () => (await server.ask('GET', `/api/kernels/${kernelId}`)).json.connections)
      .toBe(0);
    kernel.say(kernelSide.make('iopub', 'stream', { name: 'stdout', text: 'missed' }));
    const again = socketTo();
    const frame = nextFrame(again);
    expect((await frame).content['text']).toBe('missed');
    again.close();
    await closed(again);
  });

  it.each<[string, Buffer | string]>([
    ['text', 'hello'],
    ['nothing', Buffer.alloc(0)],
    ['a count without offsets', Buffer.from([6, 0, 0, 0, 0, 0, 0, 0])],
    ['a huge count', Buffer.alloc(8, 0xff)],
    ['no JSON', Buffer.concat([frameHead(6), Buffer.from('shell{}{}{}{}')])],
  ])('are closed when they bring %s', async (_, data) => {
    const socket = socketTo();
    await opened(socket);
    socket.send(data);
    expect(await closed(socket)).toBe(1007);
    const alive = await server.ask('GET', `/api/kernels/${kernelId}`);
    expect(alive.status).toBe(200);
  });
});

describe('a kernel that dies', () => {
  it('is told to the pages, with the reason for who asks, and replaced on request', async () => {
    const socket = socketTo();
    await opened(socket);
    const frame = nextFrame(socket);
    server.kernels[0].die('out of memory');
    const { content } = await frame;
    expect(content['execution_state']).toBe('dead');
    const { json } = await server.ask('GET', `/api/kernels/${kernelId}`);
    expect(json).toMatchObject({ execution_state: 'dead', death: 'out of memory' });
    const sessions = (await server.ask('GET', '/api/sessions')).json;
    const changed = await server.ask('PATCH', `/api/sessions/${sessions[0].id}`, {
      body: { kernel: { name: 'kelvin-per-watt' } },
    });
    expect(changed.json.kernel.id).not.toBe(kernelId);
    expect(server.kernels[0].calls).toContain('shutdown');
    kernelId = changed.json.kernel.id;
  });

  it('can be interrupted, restarted and shut down by name', async () => {
    const kernel = server.kernels.at(-1)!;
    expect((await server.ask('POST', `/api/kernels/${kernelId}/interrupt`)).status).toBe(204);
    expect((await server.ask('POST', `/api/kernels/${kernelId}/restart`)).status).toBe(200);
    expect((await server.ask('DELETE', `/api/kernels/${kernelId}`)).status).toBe(204);
    expect(kernel.calls).toEqual(['interrupt', 'restart', 'shutdown']);
    expect((await server.ask('GET', '/api/sessions')).json).toEqual([]);
    expect((await server.ask('POST', `/api/kernels/${kernelId}/restart`)).status).toBe(404);
  });
});

function frameHead(offsetCount: number): Buffer {
  const head = Buffer.alloc(8 * (offsetCount + 1));
  head.writeBigUInt64LE(BigInt(offsetCount), 0);
  const lengths = [0, 5, 2, 2, 2, 1];
  let offset = head.length;
  for (let i = 0; i < offsetCount; i += 1) {
    offset += lengths[i];
    head.writeBigUInt64LE(BigInt(offset), 8 * (i + 1));
  }
  return head;
}
