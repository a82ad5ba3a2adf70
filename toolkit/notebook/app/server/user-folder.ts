import { homedir } from 'node:os';
import { join } from 'node:path';

/** Where the app keeps what belongs to the person and not to a notebook, by the customs of the system. */
export function userFolder(
  environment: Readonly<Record<string, string | undefined>> = process.env,
  platform: NodeJS.Platform = process.platform,
): string {
  const own = 'kelvin-per-watt';
  const base = (name: string): string | undefined => environment[name] || undefined;
  if (platform === 'win32') return join(base('APPDATA') ?? join(homedir(), 'AppData', 'Roaming'), own);
  if (platform === 'darwin') return join(homedir(), 'Library', 'Application Support', own);
  return join(base('XDG_DATA_HOME') ?? join(homedir(), '.local', 'share'), own);
}
