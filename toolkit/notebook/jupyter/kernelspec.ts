import { homedir } from 'node:os';
import { join } from 'node:path';

/** Folder of our kernelspec among the kernels of a person; also its name for Jupyter clients. */
export const kernelName = 'kelvin-per-watt';

/** A kernelspec as Jupyter reads it from `kernel.json`. */
export interface Kernelspec {
  readonly argv: readonly string[];
  readonly display_name: string;
  readonly language: 'typescript';
  /** By message: a signal does not reach a loop that starts after an await. */
  readonly interrupt_mode: 'message';
  readonly env: Readonly<Record<string, string>>;
  readonly metadata: Readonly<Record<string, unknown>>;
}

/** The kernelspec that starts this copy of the toolkit with this Node. */
export function kernelspecOf(paths: {
  readonly node: string;
  readonly kernelProgram: string;
  /** Where `require` finds the toolkit by name. */
  readonly modulesFolder?: string;
}): Kernelspec {
  return {
    argv: [paths.node, paths.kernelProgram, '{connection_file}'],
    display_name: 'TypeScript (Kelvin per Watt)',
    language: 'typescript',
    interrupt_mode: 'message',
    env: paths.modulesFolder === undefined ? {} : { NODE_PATH: paths.modulesFolder },
    metadata: {},
  };
}

/** Where Jupyter looks for a person's own kernels, as its documentation gives it for each system. */
export function kernelspecFolder(machine: {
  readonly platform: NodeJS.Platform;
  readonly environment: Readonly<Record<string, string | undefined>>;
  readonly home?: string;
}): string {
  const { platform, environment, home = homedir() } = machine;
  return join(dataFolder(platform, environment, home), 'kernels', kernelName);
}

function dataFolder(
  platform: NodeJS.Platform,
  environment: Readonly<Record<string, string | undefined>>,
  home: string,
): string {
  const set = (name: string): string | undefined => environment[name] || undefined; // an empty one counts as unset
  const own = set('JUPYTER_DATA_DIR');
  if (own !== undefined) return own;
  if (platform === 'darwin') return join(home, 'Library', 'Jupyter');
  if (platform === 'win32') return join(set('APPDATA') ?? join(home, 'AppData', 'Roaming'), 'jupyter');
  return join(set('XDG_DATA_HOME') ?? join(home, '.local', 'share'), 'jupyter');
}
