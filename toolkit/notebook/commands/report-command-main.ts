// `npm run report`: a notebook as one page that stands by itself.
import { runReport } from './report-command.js';

const onTerminal = process.stderr.isTTY === true;

process.exitCode = await runReport(process.argv.slice(2), {
  typedIn: process.env['INIT_CWD'] ?? process.cwd(),
  environment: process.env,
  print: (line) => console.log(line),
  printError: (line) => console.error(line),
  ...(onTerminal ? { progress: (text) => process.stderr.write(`\r\u001b[K${text}`) } : {}),
});
