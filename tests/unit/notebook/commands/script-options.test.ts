import { parseArgs } from 'node:util';
import { afterEach, describe, expect, it, vi } from 'vitest';
import { ArgumentError } from '../../../../toolkit/errors.js';
import { readScriptOptions, withHelpNamed } from '../../../../toolkit/notebook/commands/script-options.js';

const usage = {
  script: 'npm run study',
  about: 'Studies rigs; two minutes.',
  numbers: {
    rigs: { about: 'how many rigs', value: 400, atLeast: 2 },
    'first-seed': { about: 'of the first rig', value: 7, atLeast: 0 },
  },
};

afterEach(() => vi.restoreAllMocks());

describe('readScriptOptions', () => {
  it('takes numbers that were given and its own for the others', () => {
    expect(readScriptOptions(['--rigs', '12'], usage)).toEqual({ rigs: 12, 'first-seed': 7 });
    expect(readScriptOptions(['--first-seed=0'], usage)).toEqual({ rigs: 400, 'first-seed': 0 });
  });

  it('prints what the script does and takes, and asks for nothing else', () => {
    const print = vi.spyOn(console, 'log').mockImplementation(() => undefined);
    expect(readScriptOptions(['--rigs', 'x', '--help'], usage)).toBeUndefined();
    expect(print.mock.calls).toEqual([
      [
        [
          'Studies rigs; two minutes.',
          '',
          '  npm run study',
          '',
          '  --rigs 400      how many rigs',
          '  --first-seed 7  of the first rig',
          '  --help          this text',
        ].join('\n'),
      ],
    ]);
  });

  it.each([
    [['--rig', '3'], '`--rig` must be one of the known options (received "--rig")'],
    [['-r'], '`-r` must be one of the known options (received "-r")'],
    [['12'], '`12` must be an option that begins with -- (received "12")'],
    [['--rigs'], '`--rigs` must be a whole number of at least 2 (received "nothing")'],
    [['--rigs', '1'], '`--rigs` must be a whole number of at least 2 (received "1")'],
    [['--rigs', '2.5'], '`--rigs` must be a whole number of at least 2 (received "2.5")'],
    [['--rigs='], '`--rigs` must be a whole number of at least 2 (received "")'],
  ])('refuses %j with the remedy', (args, message) => {
    const read = (): unknown => readScriptOptions(args, usage);
    expect(read).toThrow(ArgumentError);
    expect(read).toThrow(`npm run study: ${message}; npm run study -- --help says what there is`);
  });
});

describe('withHelpNamed', () => {
  it('names the help where the parser refused an argument, and leaves other problems alone', () => {
    let problem: unknown;
    try {
      parseArgs({ args: ['--colour'], options: {} });
    } catch (error) {
      problem = error;
    }
    expect(withHelpNamed('npm run notebooks', problem)).toEqual(
      new Error(
        "npm run notebooks: Unknown option '--colour'; npm run notebooks -- --help says what there is",
      ),
    );
    const other = new Error('no such file');
    expect(withHelpNamed('npm run notebooks', other)).toBe(other);
  });
});
