import { spawn } from 'node:child_process';
import { release } from 'node:os';

/** The command that opens a file in the person's browser, or `undefined` where there is nobody to look at it. */
export function openerFor(
  path: string,
  machine: {
    readonly platform: NodeJS.Platform;
    readonly environment: Readonly<Record<string, string | undefined>>;
    readonly kernelRelease: string;
  },
): { readonly command: string; readonly args: readonly string[] } | undefined {
  const { platform, environment, kernelRelease } = machine;
  const unattended = environment['CI'] !== undefined && !['', '0', 'false'].includes(environment['CI']);
  if (unattended) return undefined;
  if (platform === 'darwin') return { command: 'open', args: [path] };
  if (platform === 'win32') return { command: 'explorer.exe', args: [path] };
  // Windows Subsystem for Linux often has no display of its own; its browser is the host's.
  if (/microsoft/i.test(kernelRelease) && environment['DISPLAY'] === undefined)
    return { command: 'wslview', args: [path] };
  const hasDisplay = Boolean(environment['DISPLAY'] ?? environment['WAYLAND_DISPLAY']);
  return hasDisplay ? { command: 'xdg-open', args: [path] } : undefined;
}

/** Opens a page if there is a display and a program for it; resolves to whether one was started. Never throws. */
export function openPage(path: string): Promise<boolean> {
  const opener = openerFor(path, {
    platform: process.platform,
    environment: process.env,
    kernelRelease: release(),
  });
  if (opener === undefined) return Promise.resolve(false);
  return new Promise((resolve) => {
    const child = spawn(opener.command, opener.args, { detached: true, stdio: 'ignore' });
    child.once('error', () => resolve(false));
    child.once('spawn', () => {
      child.unref();
      resolve(true);
    });
  });
}
