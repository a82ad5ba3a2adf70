import { execFileSync, spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';

/** Debian's own: what `apt install python3-scipy` serves. */
const PYTHON = '/usr/bin/python3';

/** Whether the peer can be imported; if not, says what to install. */
export function hasPeer(module: string): boolean {
  if (spawnSync(PYTHON, ['-c', `import ${module}`]).status === 0) return true;
  console.log(`${module} is missing (Debian: python3-${module}): no comparison with it.`);
  return false;
}

/** Runs a script that reads `data` from the file named first and prints its result, both as JSON. On one thread. */
export function askPeer<Result>(script: string, data: object): Result {
  const folder = mkdtempSync(join(tmpdir(), 'peer-'));
  try {
    const path = join(folder, 'data.json');
    writeFileSync(path, JSON.stringify(data));
    const printed = execFileSync(PYTHON, ['-c', script, path], {
      encoding: 'utf8',
      env: { ...process.env, OMP_NUM_THREADS: '1', OPENBLAS_NUM_THREADS: '1' },
    });
    return JSON.parse(printed) as Result;
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}
