/**
 * How often stated intervals hold the truth, and how wide they are, over many simulated rigs that were not used in
 * tuning. Prints a Markdown table for the contributor's guide; progress goes to the error stream. The same rigs give
 * the same table whatever the number of workers.
 */
import { readFileSync } from 'node:fs';
import { availableParallelism } from 'node:os';
import { Worker } from 'node:worker_threads';
import { readScriptOptions, runScript } from '../../toolkit/notebook/commands/script-options.js';
import { calibrationTable } from './calibration-table.js';
import { type Answer, coverageStudy, STUDY_CAPS_W, type StudyRig, studyRigs } from './coverage-study.js';
import {
  answersOfProcessor,
  type FrequencyAnswer,
  frequencyStudy,
  frequencyTable,
} from './frequency-study.js';

/** Seeds from here on serve the calibration and nothing else. */
const FIRST_SEED = 20_000;
const RIG_COUNT = 400;
const PROCESSOR_COUNT = 400;

/** Answers of all rigs in their order, each rig given to the first worker that is free. */
async function answersOf(rigs: readonly StudyRig[], workerCount: number): Promise<readonly Answer[]> {
  const answers: (readonly Answer[])[] = new Array(rigs.length);
  const begin = performance.now();
  let next = 0;
  let done = 0;
  const work = (): Promise<void> =>
    new Promise((resolve, reject) => {
      const worker = new Worker(new URL('./answer-worker.js', import.meta.url));
      let current = -1;
      const hand = (): void => {
        current = next++;
        if (current < rigs.length) worker.postMessage(rigs[current]);
        else void worker.terminate().then(() => resolve(), reject);
      };
      worker.on('message', (received: readonly Answer[]) => {
        answers[current] = received;
        done++;
        showProgress(done, rigs.length, (performance.now() - begin) / 1000);
        hand();
      });
      worker.on('error', (problem) => {
        const rig = rigs[current];
        reject(new Error(`calibrate: ${rig?.kind} rig of seed ${rig?.seed} failed`, { cause: problem }));
      });
      hand();
    });
  await Promise.all(Array.from({ length: Math.min(workerCount, rigs.length) }, work));
  process.stderr.write('\n');
  return answers.flat();
}

function showProgress(done: number, all: number, elapsedS: number): void {
  const leftS = (elapsedS / done) * (all - done);
  const line = `${done} of ${all}, ${Math.ceil(leftS)} s left`;
  if (process.stderr.isTTY) process.stderr.write(`\r${line.padEnd(40)}`);
  else if (done % 20 === 0 || done === all) process.stderr.write(`${line}\n`);
}

async function main(): Promise<undefined> {
  const options = readScriptOptions(process.argv.slice(2), {
    script: 'npm run calibrate',
    about:
      'How often stated intervals hold the truth, over many simulated rigs: a Markdown table. Five minutes and more; with\n' +
      'fewer rigs shorter in proportion. The same seeds give the same table.',
    numbers: {
      rigs: { about: 'rigs whose coolers are fitted', value: RIG_COUNT, atLeast: 2 },
      processors: { about: 'processors whose power curves are fitted', value: PROCESSOR_COUNT, atLeast: 1 },
      'first-seed': { about: 'seed of the first; the others follow', value: FIRST_SEED, atLeast: 0 },
      workers: { about: 'threads that fit at the same time', value: availableParallelism(), atLeast: 1 },
    },
  });
  if (options === undefined) return;
  const { 'first-seed': firstSeed, processors: processorCount, workers: workerCount } = options;
  const rigs = studyRigs(options.rigs, firstSeed);
  const begin = performance.now();
  const rows = coverageStudy(await answersOf(rigs, workerCount));
  const { version } = JSON.parse(readFileSync(new URL('../../../package.json', import.meta.url), 'utf8')) as {
    version: string;
  };
  const caps = Object.entries(STUDY_CAPS_W).map(([kind, [low, high]]) => `${kind} ${low} and ${high} W`);
  console.log(
    `${new Date().toISOString().slice(0, 10)}, kelvin-per-watt ${version}, Node ${process.version}: ${rigs.length} rigs, ` +
      `seeds ${rigs[0].seed} to ${rigs[rigs.length - 1].seed}, caps ${caps.join(', ')}; ` +
      `${workerCount} workers, ${Math.round((performance.now() - begin) / 1000)} s.\n`,
  );
  console.log(calibrationTable(rows));
  console.log(
    `\nPower curves: ${processorCount} processors, seeds ${firstSeed} to ${firstSeed + processorCount - 1}.\n`,
  );
  console.log(frequencyTable(frequencyStudy(answersOfProcessors(processorCount, firstSeed))));
}

/** Power curves are quick: one thread answers. */
function answersOfProcessors(count: number, firstSeed: number): FrequencyAnswer[] {
  const begin = performance.now();
  return Array.from({ length: count }, (_, k) => {
    const answers = answersOfProcessor(firstSeed + k);
    showProgress(k + 1, count, (performance.now() - begin) / 1000);
    return answers;
  }).flat();
}

runScript(main);
