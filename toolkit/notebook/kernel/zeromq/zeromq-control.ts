import { Reply, Router } from 'zeromq';
import type { JupyterMessage } from '../messages/jupyter-message.js';
import { addressOf, type ConnectionInfo } from './connection-info.js';
import { signedFrames, verifiedMessage } from './signed-frames.js';

/** Heartbeat and control sockets, for the control thread. Resolves to what closes them when both listen. */
export async function listenForControl(
  connection: ConnectionInfo,
  handle: (message: JupyterMessage, answer: (reply: JupyterMessage) => Promise<void>) => Promise<void>,
): Promise<() => void> {
  const heartbeat = new Reply({ linger: 0 });
  const control = new Router({ linger: 1000, sendHighWaterMark: 0, receiveHighWaterMark: 0 });
  await heartbeat.bind(addressOf(connection, 'hb_port'));
  await control.bind(addressOf(connection, 'control_port'));
  void (async () => {
    for await (const beat of heartbeat) await heartbeat.send(beat);
  })();
  void (async () => {
    for await (const frames of control) {
      const received = verifiedMessage(frames, 'control', connection.key);
      // What is not signed with our key is not for us.
      if (received === undefined) continue;
      void handle(received.message, (reply) =>
        control.send(signedFrames(reply, connection.key, received.identities)),
      );
    }
  })();
  return () => {
    heartbeat.close();
    control.close();
  };
}
