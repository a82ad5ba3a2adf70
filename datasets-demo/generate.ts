import { mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { demoFiles, withTruthTables } from './generator/demo-files.js';
import { coolerTruths } from './generator/truth.js';

// Run by `npm run demo` from dist/datasets-demo/; writes into datasets-demo/ beside it.
const folder = new URL('../../datasets-demo/', import.meta.url);

for (const [name, text] of demoFiles()) {
  mkdirSync(new URL('.', new URL(name, folder)), { recursive: true });
  writeFileSync(new URL(name, folder), text);
  console.log(`${name}  ${Math.ceil(text.length / 1024)} KiB`);
}
const readme = new URL('README.md', folder);
writeFileSync(readme, withTruthTables(readFileSync(readme, 'utf8'), coolerTruths()));
console.log(`Written to ${fileURLToPath(folder)}`);
