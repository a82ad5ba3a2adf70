import { parseArgs } from 'node:util';
import { ArgumentError } from '../../errors.js';

/** What a script of the repository is for, and what it can be asked. */
export interface ScriptUsage<Name extends string> {
  /** As typed: `npm run calibrate`. */
  readonly script: string;
  /** What it does, what it needs and how long it takes. */
  readonly about: string;
  /** Whole numbers that can be set. */
  readonly numbers?: Readonly<Record<Name, NumberOption>>;
}

/** A whole number that a script takes. */
export interface NumberOption {
  readonly about: string;
  readonly value: number;
  readonly atLeast: number;
}

/**
 * The numbers a script was asked for, or nothing where `--help` was asked for, which is then printed.
 *
 * @throws ArgumentError if an option is unknown, lacks its value or is outside its domain
 */
export function readScriptOptions<Name extends string = never>(
  args: readonly string[],
  usage: ScriptUsage<Name>,
): Readonly<Record<Name, number>> | undefined {
  const numbers = Object.entries<NumberOption>(usage.numbers ?? {});
  if (args.includes('--help')) {
    console.log(helpOf(usage));
    return undefined;
  }
  const { values, tokens } = parseArgs({
    args: [...args],
    strict: false,
    tokens: true,
    options: Object.fromEntries(numbers.map(([name]) => [name, { type: 'string' as const }])),
  });
  const refuse = (argument: string, expected: string, received: unknown): ArgumentError =>
    new ArgumentError({
      caller: usage.script,
      argument,
      expected,
      received,
      remedy: `${usage.script} -- --help says what there is`,
    });
  for (const token of tokens) {
    if (token.kind === 'positional') throw refuse(token.value, 'an option that begins with --', token.value);
    if (token.kind === 'option' && !numbers.some(([name]) => name === token.name))
      throw refuse(token.rawName, 'one of the known options', token.rawName);
  }
  return Object.fromEntries(
    numbers.map(([name, { value, atLeast }]) => {
      const given = values[name];
      if (given === undefined) return [name, value];
      const read = typeof given === 'string' && given.trim() !== '' ? Number(given) : Number.NaN;
      if (Number.isSafeInteger(read) && read >= atLeast) return [name, read];
      throw refuse(`--${name}`, `a whole number of at least ${atLeast}`, given === true ? 'nothing' : given);
    }),
  ) as Record<Name, number>;
}

function helpOf<Name extends string>({ script, about, numbers }: ScriptUsage<Name>): string {
  const options: [string, string][] = [
    ...Object.entries<NumberOption>(numbers ?? {}).map(([name, option]): [string, string] => [
      `--${name} ${option.value}`,
      option.about,
    ]),
    ['--help', 'this text'],
  ];
  const width = Math.max(...options.map(([option]) => option.length)) + 2;
  return [
    about,
    '',
    `  ${script}`,
    '',
    ...options.map(([option, meaning]) => `  ${option.padEnd(width)}${meaning}`),
  ].join('\n');
}

/** What is wrong with a command's arguments, as Node's own parser found it, with the remedy; other problems as they are. */
export function withHelpNamed(script: string, problem: unknown): unknown {
  const code = problem instanceof Error && 'code' in problem ? String(problem.code) : '';
  if (!(problem instanceof Error) || !code.startsWith('ERR_PARSE_ARGS')) return problem;
  const [what] = problem.message.split('. ');
  return new Error(`${script}: ${what}; ${script} -- --help says what there is`);
}

/** Runs a script: a failure is said in its message, without a stack, and fails the command. */
export function runScript(main: () => Promise<number | undefined> | number | undefined): void {
  Promise.resolve()
    .then(main)
    .then(
      (exitCode) => {
        process.exitCode = exitCode ?? 0;
      },
      (problem: unknown) => {
        console.error(
          problem instanceof ArgumentError || !(problem instanceof Error)
            ? String(problem instanceof Error ? problem.message : problem)
            : problem.stack,
        );
        process.exitCode = 1;
      },
    );
}
