import { runRecord } from './record-command.js';

const ending = new AbortController();
process.once('SIGINT', () => ending.abort());
process.once('SIGTERM', () => ending.abort());
process.exitCode = await runRecord(process.argv.slice(2), {
  // npm runs scripts in the folder of the package; the command was typed elsewhere.
  typedIn: process.env['INIT_CWD'] ?? process.cwd(),
  print: (line) => console.log(line),
  printError: (line) => console.error(line),
  signal: ending.signal,
});
