import { describe, expect, it } from 'vitest';
import { createMessageMaker } from '../../../../../toolkit/notebook/kernel/messages/message-maker.js';
import {
  addressOf,
  parseConnectionInfo,
} from '../../../../../toolkit/notebook/kernel/zeromq/connection-info.js';
import {
  signedFrames,
  verifiedMessage,
} from '../../../../../toolkit/notebook/kernel/zeromq/signed-frames.js';

const key = 'a-key-of-the-puppet-theatre';
const maker = createMessageMaker({ username: 'test' });
const message = maker.make('shell', 'execute_request', { code: "'🎭'" });
const framesOf = (signingKey = key): Buffer[] =>
  signedFrames(message, signingKey, [Buffer.from('client')]).map((frame) => Buffer.from(frame));

describe('signed frames', () => {
  it('carry a message with its identities', () => {
    const received = verifiedMessage(framesOf(), 'shell', key);
    expect(received?.message).toEqual(message);
    expect(received?.identities.map(String)).toEqual(['client']);
    expect(framesOf()[1]?.toString()).toBe('<IDS|MSG>');
  });

  it('are unsigned with an empty key, as the protocol allows', () => {
    expect(framesOf('')[2]?.toString()).toBe('');
    expect(verifiedMessage(framesOf(''), 'shell', '')?.message).toEqual(message);
  });

  it('are refused when signed with another key, unsigned, changed, cut short or no JSON', () => {
    expect(verifiedMessage(framesOf('other'), 'shell', key)).toBeUndefined();
    expect(verifiedMessage(framesOf(''), 'shell', key)).toBeUndefined();
    const changed = framesOf();
    changed[6] = Buffer.from('{"code":"other"}');
    expect(verifiedMessage(changed, 'shell', key)).toBeUndefined();
    expect(verifiedMessage(framesOf().slice(0, 5), 'shell', key)).toBeUndefined();
    expect(verifiedMessage([Buffer.from('x')], 'shell', key)).toBeUndefined();
    const broken = framesOf('');
    broken[3] = Buffer.from('{');
    expect(verifiedMessage(broken, 'shell', '')).toBeUndefined();
  });
});

describe('a connection file', () => {
  const info = {
    transport: 'tcp',
    ip: '127.0.0.1',
    shell_port: 1,
    control_port: 2,
    iopub_port: 3,
    stdin_port: 4,
    hb_port: 5,
    key,
    signature_scheme: 'hmac-sha256',
  };

  it('gives the addresses of the sockets', () => {
    const read = parseConnectionInfo(JSON.stringify(info), 'kernel.json');
    expect(addressOf(read, 'hb_port')).toBe('tcp://127.0.0.1:5');
    expect(addressOf({ ...read, transport: 'ipc', ip: '/tmp/k' }, 'shell_port')).toBe('ipc:///tmp/k-1');
  });

  it.each([
    ['{', /kernel\.json` must be a Jupyter connection file in JSON/],
    [JSON.stringify({ ...info, hb_port: 'x' }), /must be a connection file with a hb_port \(received "x"\)/],
    [JSON.stringify({ ...info, signature_scheme: 'hmac-md5' }), /must be signed with hmac-sha256/],
    [JSON.stringify({ ...info, transport: 'udp' }), /must be for the transport tcp or ipc/],
    [JSON.stringify({ ...info, key: undefined }), /must be a connection file with a key/],
  ])('that is broken is refused: %#', (text, problem) => {
    expect(() => parseConnectionInfo(text, 'kernel.json')).toThrow(problem);
  });
});
