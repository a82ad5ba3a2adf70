import ts from 'typescript';
import { compilerOptions } from './public-program.js';
import { REPOSITORY } from './repository.js';

/** What the compiler says about a text. */
export interface CompileProblem {
  /** Line in the text, 1-based. */
  readonly line: number;
  readonly message: string;
}

/**
 * Compiles texts as if they were files in `tests/checks/`, in one program; nothing is written.
 *
 * @param texts - programs, which import the toolkit as `../../toolkit/…`
 * @returns the problems of each text, in its order
 */
export function compileTexts(texts: readonly string[]): readonly (readonly CompileProblem[])[] {
  const options: ts.CompilerOptions = {
    ...compilerOptions(),
    noUnusedLocals: false,
    noUnusedParameters: false,
    isolatedDeclarations: false,
    declaration: false,
  };
  const pathOf = (index: number): string => `${REPOSITORY}tests/checks/compiled-text-${index}.ts`;
  const byPath = new Map(texts.map((text, index) => [pathOf(index), text]));
  const host = ts.createCompilerHost(options);
  const { fileExists, readFile, getSourceFile } = host;
  host.fileExists = (path) => byPath.has(path) || fileExists.call(host, path);
  host.readFile = (path) => byPath.get(path) ?? readFile.call(host, path);
  host.getSourceFile = (path, version, ...rest) => {
    const text = byPath.get(path);
    return text === undefined
      ? getSourceFile.call(host, path, version, ...rest)
      : ts.createSourceFile(path, text, version, true);
  };
  const program = ts.createProgram([...byPath.keys()], options, host);
  return texts.map((_, index) => {
    const source = program.getSourceFile(pathOf(index))!;
    return [...program.getSyntacticDiagnostics(source), ...program.getSemanticDiagnostics(source)]
      .filter(({ code }) => !UNUSED_VALUE.has(code))
      .map(({ start, messageText }) => ({
        line: source.getLineAndCharacterOfPosition(start ?? 0).line + 1,
        message: ts.flattenDiagnosticMessageText(messageText, ' '),
      }));
  });
}

/** An expression whose value nobody uses: an example promises it in a comment (codes of the compiler). */
const UNUSED_VALUE: ReadonlySet<number> = new Set([2695, 7027]);
