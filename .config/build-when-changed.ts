// Builds the toolkit before `npm start` only when a source is newer than the last build: the compiler alone would take
// longer to see that nothing changed than the app takes to start.
import { spawnSync } from 'node:child_process';
import { readdirSync, statSync, writeFileSync } from 'node:fs';

const timeOf = (path: string): number => statSync(path, { throwIfNoEntry: false })?.mtimeMs ?? 0;

const isBuilt = timeOf('dist/toolkit/notebook/commands/start.js') > 0;
const stamp = 'dist/built-for-start';
const builtMs = timeOf(stamp);
const sources = readdirSync('toolkit', { recursive: true, encoding: 'utf8' })
  .filter((path) => path.endsWith('.ts'))
  .map((path) => `toolkit/${path}`);
if (!isBuilt || sources.some((path) => timeOf(path) > builtMs)) {
  console.log(
    'Building the toolkit and the page of the notebook app: some seconds, now and after its sources change.',
  );
  const { status } = spawnSync('npm', ['run', 'build', '--silent'], { stdio: 'inherit', shell: true });
  if (status === 0) writeFileSync(stamp, '');
  process.exitCode = status ?? 1;
}
