import { mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { readScriptOptions, runScript } from '../toolkit/notebook/commands/script-options.js';
import { demoFiles, withTruthTables } from './generator/demo-files.js';
import { coolerTruths } from './generator/truth.js';

// Run by `npm run demo` from dist/datasets-demo/; writes into datasets-demo/ beside it.
const folder = new URL('../../datasets-demo/', import.meta.url);

function main(): undefined {
  const options = readScriptOptions(process.argv.slice(2), {
    script: 'npm run demo',
    about:
      'Writes the demo logs again into datasets-demo, byte for byte the same unless the generator changed. A few seconds.',
  });
  if (options === undefined) return;
  for (const [name, text] of demoFiles()) {
    mkdirSync(new URL('.', new URL(name, folder)), { recursive: true });
    writeFileSync(new URL(name, folder), text);
    console.log(`${name}  ${Math.ceil(text.length / 1024)} KiB`);
  }
  const readme = new URL('README.md', folder);
  writeFileSync(readme, withTruthTables(readFileSync(readme, 'utf8'), coolerTruths()));
  console.log(`Written to ${fileURLToPath(folder)}`);
}

runScript(main);
