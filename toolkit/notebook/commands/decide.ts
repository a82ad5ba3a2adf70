// `npm run decide`: from logged load runs to a power cap per cooler, as a page and in the terminal.
import { runDecide } from './decide-command.js';

const onTerminal = process.stderr.isTTY === true;

process.exitCode = await runDecide(process.argv.slice(2), {
  typedIn: process.env['INIT_CWD'] ?? process.cwd(),
  environment: process.env,
  print: (line) => console.log(line),
  printError: (line) => console.error(line),
  ...(onTerminal ? { progress: (text) => process.stderr.write(`\r\u001b[K${text}`) } : {}),
});
