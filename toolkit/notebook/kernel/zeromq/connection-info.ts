import { ArgumentError } from '../../../errors.js';

/** A Jupyter connection file: where a client waits for the kernel, and the key that both sign with. */
export interface ConnectionInfo {
  readonly transport: 'tcp' | 'ipc';
  readonly ip: string;
  readonly shell_port: number;
  readonly control_port: number;
  readonly iopub_port: number;
  readonly stdin_port: number;
  readonly hb_port: number;
  readonly key: string;
  readonly signature_scheme: 'hmac-sha256';
}

const ports = ['shell_port', 'control_port', 'iopub_port', 'stdin_port', 'hb_port'] as const;

/** Reads the text of a connection file; `name` is used in messages. */
export function parseConnectionInfo(text: string, name: string): ConnectionInfo {
  const refuse = (expected: string, received: unknown): never => {
    throw new ArgumentError({ caller: 'parseConnectionInfo', argument: name, expected, received });
  };
  let value: Record<string, unknown>;
  try {
    value = JSON.parse(text) as Record<string, unknown>;
  } catch {
    return refuse('a Jupyter connection file in JSON', text.slice(0, 80));
  }
  const { transport = 'tcp', ip, key, signature_scheme: scheme = 'hmac-sha256' } = value;
  if (transport !== 'tcp' && transport !== 'ipc') return refuse('for the transport tcp or ipc', transport);
  if (typeof ip !== 'string') return refuse('a connection file with an ip', ip);
  if (typeof key !== 'string') return refuse('a connection file with a key', key);
  if (scheme !== 'hmac-sha256' && key !== '') return refuse('signed with hmac-sha256', scheme);
  for (const port of ports)
    if (typeof value[port] !== 'number') return refuse(`a connection file with a ${port}`, value[port]);
  return { ...(value as unknown as ConnectionInfo), transport, signature_scheme: 'hmac-sha256' };
}

/** The address of one of the sockets. */
export function addressOf(info: ConnectionInfo, port: (typeof ports)[number]): string {
  return info.transport === 'tcp' ? `tcp://${info.ip}:${info[port]}` : `ipc://${info.ip}-${info[port]}`;
}
