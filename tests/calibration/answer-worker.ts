// A worker thread of the calibration: answers one rig at a time.
import { parentPort } from 'node:worker_threads';
import { type Answer, answersOfRig, type StudyRig } from './coverage-study.js';

if (parentPort === null) throw new Error('answer-worker is started by calibrate, as a worker thread');
const port = parentPort;
port.on('message', (rig: StudyRig) => {
  const answers: readonly Answer[] = answersOfRig(rig);
  port.postMessage(answers);
});
