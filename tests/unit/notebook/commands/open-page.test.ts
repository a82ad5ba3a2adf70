import { describe, expect, it } from 'vitest';
import { openerFor } from '../../../../toolkit/notebook/commands/open-page.js';

const on = (
  platform: NodeJS.Platform,
  environment: Record<string, string> = {},
  kernelRelease = '6.1.0',
): string | undefined => openerFor('/tmp/page.html', { platform, environment, kernelRelease })?.command;

describe('openerFor', () => {
  it('opens where somebody can look', () => {
    expect(on('linux', { DISPLAY: ':0' })).toBe('xdg-open');
    expect(on('linux', { WAYLAND_DISPLAY: 'wayland-0' })).toBe('xdg-open');
    expect(on('darwin')).toBe('open');
    expect(on('win32')).toBe('explorer.exe');
    expect(on('linux', {}, '5.15.0-microsoft-standard-WSL2')).toBe('wslview');
  });

  it('opens nothing without a display or on a build machine', () => {
    expect(on('linux')).toBeUndefined();
    expect(on('linux', { DISPLAY: ':0', CI: 'true' })).toBeUndefined();
    expect(on('darwin', { CI: '1' })).toBeUndefined();
    expect(on('darwin', { CI: 'false' })).toBe('open');
  });
});
