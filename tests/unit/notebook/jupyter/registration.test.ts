import { mkdtemp, readdir, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { kernelspecFolder, kernelspecOf } from '../../../../toolkit/notebook/jupyter/kernelspec.js';
import { register, unregister } from '../../../../toolkit/notebook/jupyter/registration.js';

const spec = kernelspecOf({ node: '/usr/bin/node', kernelProgram: '/toolkit/zeromq-process.js' });
const logoFolder = 'toolkit/notebook/jupyter';
let folder: string;

beforeEach(async () => {
  folder = join(await mkdtemp(join(tmpdir(), 'kernelspec-')), 'kernels', 'kelvin-per-watt');
});
afterEach(() => rm(join(folder, '..', '..'), { recursive: true, force: true }));

describe('the folder of a kernelspec', () => {
  // "Common Directories and File Locations", documentation of the Jupyter project.
  it.each([
    ['linux', {}, '/home/a/.local/share/jupyter/kernels/kelvin-per-watt'],
    ['linux', { XDG_DATA_HOME: '/data' }, '/data/jupyter/kernels/kelvin-per-watt'],
    ['linux', { JUPYTER_DATA_DIR: '/all', XDG_DATA_HOME: '/data' }, '/all/kernels/kelvin-per-watt'],
    ['linux', { JUPYTER_DATA_DIR: '' }, '/home/a/.local/share/jupyter/kernels/kelvin-per-watt'],
    ['darwin', {}, '/home/a/Library/Jupyter/kernels/kelvin-per-watt'],
    ['win32', { APPDATA: '/roaming' }, '/roaming/jupyter/kernels/kelvin-per-watt'],
  ] as const)('on %s with %j', (platform, environment, expected) => {
    expect(kernelspecFolder({ platform, environment, home: '/home/a' })).toBe(expected);
  });
});

describe('registering', () => {
  it('writes the spec and the logo in both sizes, and removing takes them away with the folder', async () => {
    const written = await register(folder, { spec, logoFolder });
    expect(written).toEqual(
      ['kernel.json', 'logo-32x32.png', 'logo-64x64.png', 'logo-svg.svg'].map((name) => join(folder, name)),
    );
    expect(JSON.parse(await readFile(join(folder, 'kernel.json'), 'utf8'))).toEqual({
      argv: ['/usr/bin/node', '/toolkit/zeromq-process.js', '{connection_file}'],
      display_name: 'TypeScript (Kelvin per Watt)',
      language: 'typescript',
      interrupt_mode: 'message',
      env: {},
      metadata: {},
    });
    // Width and height stand in bytes 16 to 23 of a PNG file [PNG specification, IHDR].
    for (const size of [32, 64]) {
      const image = await readFile(join(folder, `logo-${size}x${size}.png`));
      expect([image.readUInt32BE(16), image.readUInt32BE(20)]).toEqual([size, size]);
    }
    await register(folder, { spec, logoFolder }); // again: replaces its own
    expect(await unregister(folder)).toHaveLength(4);
    await expect(readdir(folder)).rejects.toThrow('ENOENT');
    expect(await unregister(folder)).toEqual([]);
  });

  it('leaves what others put there', async () => {
    await register(folder, { spec, logoFolder });
    await writeFile(join(folder, 'notes.txt'), 'mine');
    await unregister(folder);
    expect(await readdir(folder)).toEqual(['notes.txt']);
  });

  it.each(['{"argv":["python3"]}', 'no JSON'])('refuses to replace or remove %s', async (text) => {
    await register(folder, { spec, logoFolder });
    await writeFile(join(folder, 'kernel.json'), text);
    const refusal =
      /npm run jupyter:register: `kelvin-per-watt` must be a kernelspec of ours or none: .*; move that folder away first/;
    await expect(register(folder, { spec, logoFolder })).rejects.toThrow(refusal);
    await expect(unregister(folder)).rejects.toThrow(refusal);
    expect(await readFile(join(folder, 'kernel.json'), 'utf8')).toBe(text);
  });
});
