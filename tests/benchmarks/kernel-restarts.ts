// `npm run restarts`: restarts a kernel 200 times, in all its states, and counts what is left behind.
import { existsSync, mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as pause } from 'node:timers/promises';
import { fileURLToPath } from 'node:url';
import { readScriptOptions, runScript } from '../../toolkit/notebook/commands/script-options.js';
import { createMessageMaker } from '../../toolkit/notebook/kernel/messages/message-maker.js';
import { startKernelConnection } from '../../toolkit/notebook/kernel/start-kernel-connection.js';

const workingDirectory = fileURLToPath(new URL('../../../notebooks', import.meta.url));
// A folder for temporary files that no other program uses: what is in it in the end, the kernels left there.
const temporaryFolder = mkdtempSync(join(tmpdir(), 'kelvin-per-watt-restarts-'));
for (const name of ['TMPDIR', 'TEMP', 'TMP']) process.env[name] = temporaryFolder;
process.once('exit', () => rmSync(temporaryFolder, { recursive: true, force: true }));
// What a kernel may be doing when it is replaced: nothing, waiting, computing, printing, starting.
const occupations = [
  '',
  'await new Promise(() => {})',
  'await null; while (true) {}',
  'while (true) console.log("x")',
];

interface Traces {
  readonly processes: number;
  readonly openFiles: number;
  readonly temporaryFiles: number;
  readonly memoryMB: number;
}

function traces(): Traces {
  return {
    processes: childProcesses(),
    openFiles: existsSync('/proc/self/fd') ? readdirSync('/proc/self/fd').length : 0,
    temporaryFiles: readdirSync(temporaryFolder, { recursive: true }).length,
    memoryMB: Math.round(process.memoryUsage().rss / 1e6),
  };
}

/** Running processes that this one started, where the system tells. */
function childProcesses(): number {
  if (!existsSync('/proc')) return 0;
  return readdirSync('/proc').filter((name) => {
    if (!/^\d+$/.test(name)) return false;
    try {
      const [, rest = ''] = readFileSync(`/proc/${name}/stat`, 'utf8').split(') ');
      return rest.split(' ')[1] === String(process.pid);
    } catch {
      return false; // ended in the meantime
    }
  }).length;
}

async function main(): Promise<number> {
  const options = readScriptOptions(process.argv.slice(2), {
    script: 'npm run restarts',
    about:
      'Restarts a kernel again and again, in all its states, and counts what is left behind: processes, open files,\n' +
      'temporary files, memory. Fails if anything is. Two seconds a restart, seven minutes for 200.',
    numbers: { count: { about: 'how many restarts', value: 200, atLeast: 1 } },
  });
  if (options === undefined) return 0;
  const restartCount = options.count;
  const maker = createMessageMaker({ username: 'restarts' });
  const kernel = startKernelConnection({ workingDirectory });
  await kernel.ready();
  await kernel.restart();
  const before = traces();
  const durationsMs: number[] = [];
  for (let i = 0; i < restartCount; i += 1) {
    const code = occupations[i % occupations.length] ?? '';
    if (code !== '') {
      kernel.send(maker.make('shell', 'execute_request', { code }));
      await pause(50);
    }
    const startMs = performance.now();
    if (i % 10 === 9) void kernel.restart().catch(() => {}); // a second one while the first is under way
    await kernel.restart();
    durationsMs.push(performance.now() - startMs);
    if ((i + 1) % 20 === 0) console.log(`${i + 1} of ${restartCount}`, JSON.stringify(traces()));
  }
  const after = traces();
  await kernel.shutdown();
  await pause(200);
  const end = traces();
  const sorted = [...durationsMs].sort((a, b) => a - b);
  console.log('before', before);
  console.log('after', after);
  console.log('after the end', end);
  console.log(`restart, median ${Math.round(sorted[Math.floor(sorted.length / 2)] ?? 0)} ms`);
  const left = after.processes > before.processes || after.openFiles > before.openFiles || end.processes > 0;
  console.log(left ? 'something is left behind' : 'nothing is left behind');
  return left ? 1 : 0;
}

runScript(main);
