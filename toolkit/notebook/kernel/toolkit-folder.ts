import { existsSync } from 'node:fs';
import { delimiter, dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';

/** The environment of a kernel process: `require` finds this toolkit by name, wherever the notebook lies. */
export function kernelEnvironment(environment: NodeJS.ProcessEnv): NodeJS.ProcessEnv {
  return {
    ...environment,
    NODE_PATH: [toolkitFolder(), environment['NODE_PATH']].filter(Boolean).join(delimiter),
  };
}

/** A folder in which `require` finds this toolkit by name. */
function toolkitFolder(): string | undefined {
  const packageFolder = fileURLToPath(new URL('../../../../', import.meta.url));
  // A checkout links to itself in its own node_modules; an installed package lies in somebody else's.
  return [join(packageFolder, 'node_modules'), dirname(packageFolder)].find((folder) =>
    existsSync(join(folder, 'kelvin-per-watt')),
  );
}
