#!/usr/bin/env node
// `npm start`: the notebook app in the browser. Runs until Ctrl-C, then ends all kernels.
import { runStart } from './start-command.js';

const app = await runStart(process.argv.slice(2), {
  typedIn: process.env['INIT_CWD'] ?? process.cwd(),
  environment: process.env,
  print: (line) => console.log(line),
  printError: (line) => console.error(line),
});

if (typeof app === 'number') process.exitCode = app;
else {
  let ending = false;
  for (const signal of ['SIGINT', 'SIGTERM', 'SIGHUP'] as const)
    process.on(signal, () => {
      // Asked twice, it does not wait.
      if (ending) process.exit(1);
      ending = true;
      void app.close().then(() => process.exit(0));
    });
}
