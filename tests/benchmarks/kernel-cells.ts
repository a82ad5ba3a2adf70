// What a kernel adds to a cell's own run: its start, and the compiling of every cell of the notebooks, as typed.
import { readdirSync, readFileSync, writeSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { parseNotebook } from '../../toolkit/notebook/document/notebook-file.js';
import { createTslabEvaluator } from '../../toolkit/notebook/kernel/evaluator/evaluator.js';
import { startKernel } from '../../toolkit/notebook/kernel/kernel.js';
import { captureStandardStreams, OutputQueue } from '../../toolkit/notebook/kernel/messages/output-queue.js';
import { median } from './time-of.js';

const folder = fileURLToPath(new URL('../../../notebooks', import.meta.url));
const startCount = 3;
const warmCount = 15;
/** A cell whose own run takes less than this is a light one, ms. */
const lightMs = 50;

/** What one cell took, ms. */
interface CellTime {
  readonly lineCount: number;
  readonly compilingMs: number;
  readonly compilingProcessorMs: number;
  readonly runningMs: number;
}

const say = (text: string): void => void writeSync(1, `${text}\n`);
const inMs = (values: readonly number[]): string => `${median(values).toFixed(1)} ms`;
const processorMs = (): number => {
  const { user, system } = process.cpuUsage();
  return (user + system) / 1000;
};

/** Kernels in processes of their own: ready, the first cell, a small cell once that is warm. */
async function timeStarts(): Promise<void> {
  const [ready, first, warm]: [number[], number[], number[]] = [[], [], []];
  for (let i = 0; i < startCount; i++) {
    const beginMs = performance.now();
    const kernel = await startKernel({ workingDirectory: folder });
    ready.push(performance.now() - beginMs);
    await kernel.execute('const powers = [40, 60]; powers.map((powerW) => powerW / 2)');
    first.push(performance.now() - beginMs);
    for (let n = 0; n < warmCount; n++) {
      const cellMs = performance.now();
      await kernel.execute(`const power${n}W = ${n}; power${n}W + 1`);
      warm.push(performance.now() - cellMs);
    }
    await kernel.stop();
  }
  say(`${startCount} starts by the clock, medians: ready ${inMs(ready)}, first cell answered ${inMs(first)}`);
  say(`a small cell, asked and answered: ${inMs(warm)}`);
}

/** All cells of all notebooks in one scope of this process. */
async function timeCells(): Promise<readonly CellTime[]> {
  process.chdir(folder);
  const stayAlive = setInterval(() => {}, 1000); // the evaluator alone does not keep a process
  const marks = { converting: [0, 0], running: [0, 0] };
  const evaluator = await createTslabEvaluator({
    output: () => {},
    onPhase: (phase) => {
      if (phase !== 'idle') marks[phase] = [performance.now(), processorMs()];
    },
  });
  captureStandardStreams(new OutputQueue(() => {}));
  evaluator.warmUp();
  const times: CellTime[] = [];
  for (const name of readdirSync(folder).filter((file) => file.endsWith('.ipynb'))) {
    const { cells } = parseNotebook(readFileSync(join(folder, name), 'utf8'), name);
    for (const { source } of cells.filter(({ cell_type: type }) => type === 'code')) {
      const result = await evaluator.evaluate(source, times.length + 1);
      if (result.status === 'error' && result.error.ename === 'TypeScriptError')
        throw new Error(`${name}: ${result.error.evalue}`);
      const { converting, running } = marks;
      times.push({
        lineCount: source.split('\n').length,
        compilingMs: running[0] - converting[0],
        compilingProcessorMs: running[1] - converting[1],
        runningMs: performance.now() - running[0],
      });
    }
  }
  evaluator.close();
  clearInterval(stayAlive);
  return times;
}

function tell(what: string, times: readonly CellTime[]): void {
  const clock = inMs(times.map(({ compilingMs }) => compilingMs));
  const processor = inMs(times.map(({ compilingProcessorMs }) => compilingProcessorMs));
  say(
    `${what}: ${times.length} cells, compiled in ${clock} by the clock, ${processor} of processor time (medians)`,
  );
}

say(`Node ${process.version}`);
await timeStarts();
const times = await timeCells();
tell('all cells of the notebooks', times);
tell(
  `cells that run less than ${lightMs} ms themselves`,
  times.filter(({ runningMs }) => runningMs < lightMs),
);
tell(
  'cells of 20 lines and more',
  times.filter(({ lineCount }) => lineCount >= 20),
);
process.exit();
