import { Publisher, Router } from 'zeromq';
import type { JupyterMessage } from '../messages/jupyter-message.js';
import type { Transport } from '../process/run-kernel.js';
import { addressOf, type ConnectionInfo } from './connection-info.js';
import { signedFrames, verifiedMessage } from './signed-frames.js';

// 0 means no limit: beyond a limit a publisher drops messages without a word.
const unlimited = { sendHighWaterMark: 0, linger: 1000 };

/** Jupyter's own sockets: shell, standard input and broadcasts here, control and heartbeat in the control thread. */
export function createZeromqTransport(connection: ConnectionInfo): Transport {
  const broadcasts = new Publisher(unlimited);
  const shell = new Router({ ...unlimited, receiveHighWaterMark: 0 });
  const standardInput = new Router(unlimited);
  const senders = new WeakMap<JupyterMessage, readonly Buffer[]>();
  // A socket refuses a message while it is sending another one, so that all wait in line.
  let line: Promise<void> = Promise.resolve();

  async function receiveFrom(receive: (message: JupyterMessage) => void): Promise<void> {
    for await (const frames of shell) {
      const received = verifiedMessage(frames, 'shell', connection.key);
      if (received === undefined) continue; // not signed with our key: not for us
      senders.set(received.message, received.identities);
      receive(received.message);
    }
  }

  return {
    controlLink: { kind: 'sockets', connection },
    pagesLackLibrary: true,
    send(message, request) {
      const identities = request === undefined ? [message.header.msg_type] : (senders.get(request) ?? []);
      const frames = signedFrames(message, connection.key, identities);
      const socket = message.channel === 'iopub' ? broadcasts : shell;
      line = line
        .then(() => socket.send(frames))
        // A closed socket at the end of the process, or a client that is gone: nobody is left to tell.
        .catch(() => {});
    },
    async listen(receive) {
      await broadcasts.bind(addressOf(connection, 'iopub_port'));
      await standardInput.bind(addressOf(connection, 'stdin_port'));
      await shell.bind(addressOf(connection, 'shell_port'));
      void receiveFrom(receive);
    },
    async close() {
      await line;
      for (const socket of [broadcasts, shell, standardInput]) socket.close();
    },
  };
}
