// A kernel over Jupyter's sockets: `node zeromq-process.js connection-file.json`, as a kernelspec starts it.
import { readFileSync, writeSync } from 'node:fs';
import { basename } from 'node:path';
import { runKernel } from '../process/run-kernel.js';
import { parseConnectionInfo } from './connection-info.js';
import { createZeromqTransport } from './zeromq-transport.js';

async function main(): Promise<void> {
  const path = process.argv[2];
  if (path === undefined) throw new Error('name the connection file of the Jupyter client');
  const connection = parseConnectionInfo(readFileSync(path, 'utf8'), basename(path));
  await runKernel(createZeromqTransport(connection));
}

main().catch((error: unknown) => {
  // Past the captured streams, so that the client's log has it.
  writeSync(2, `${error instanceof Error ? error.message : String(error)}\n`);
  process.exit(1);
});
