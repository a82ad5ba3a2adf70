// `npm run jupyter:register`: makes the kernel known to the Jupyter clients of the current user; `-- --remove` undoes it.
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { parseArgs } from 'node:util';
import { withHelpNamed } from '../commands/script-options.js';
import { kernelEnvironment } from '../kernel/toolkit-folder.js';
import { kernelspecFolder, kernelspecOf } from './kernelspec.js';
import { register, unregister } from './registration.js';

const help = `Makes the kernel known to Jupyter, VS Code and every other Jupyter client of the current user.

  npm run jupyter:register                 writes the kernelspec and says where
  npm run jupyter:register -- --remove     takes it away again

The kernelspec starts this copy of the toolkit: register again after moving it or after changing Node.
JUPYTER_DATA_DIR names another place, for instance one that all users of a server share.`;

const here = dirname(fileURLToPath(import.meta.url));
const packageFolder = fileURLToPath(new URL('../../../../', import.meta.url));

async function main(): Promise<void> {
  const { values } = parseArgs({
    options: { remove: { type: 'boolean', default: false }, help: { type: 'boolean', default: false } },
  });
  if (values.help) return console.log(help);
  const folder = kernelspecFolder({ platform: process.platform, environment: process.env });
  if (values.remove) {
    const removed = await unregister(folder);
    console.log(removed.length === 0 ? `nothing to remove in ${folder}` : `removed\n${inLines(removed)}`);
    return;
  }
  const modulesFolder = kernelEnvironment({})['NODE_PATH'];
  const written = await register(folder, {
    spec: kernelspecOf({
      node: process.execPath,
      kernelProgram: join(here, '..', 'kernel', 'zeromq', 'zeromq-process.js'),
      ...(modulesFolder === undefined || modulesFolder === '' ? {} : { modulesFolder }),
    }),
    logoFolder: join(packageFolder, 'toolkit', 'notebook', 'jupyter'),
  });
  console.log(`wrote\n${inLines(written)}`);
  console.log('Choose the kernel "TypeScript (Kelvin per Watt)" in Jupyter or VS Code.');
  const place = process.env['JUPYTER_DATA_DIR'] ? ', with the same JUPYTER_DATA_DIR' : '';
  console.log(`Undo with: npm run jupyter:register -- --remove${place}`);
}

function inLines(paths: readonly string[]): string {
  return paths.map((path) => `  ${path}`).join('\n');
}

main().catch((problem: unknown) => {
  const error = withHelpNamed('npm run jupyter:register', problem);
  console.error(error instanceof Error ? error.message : String(error));
  process.exitCode = 1;
});
