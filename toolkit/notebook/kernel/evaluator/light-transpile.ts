import type * as Compiler from '@tslab/typescript-for-tslab';

/** The functions of the compiler that this needs. */
export type CompilerPrograms = Pick<typeof Compiler, 'createProgram' | 'createSourceFile'>;

/** Code with its source map. */
export interface Transpiled {
  readonly outputText: string;
  readonly sourceMapText: string;
}

const fileName = 'cell.js';

/**
 * One file of JavaScript in another form of modules, as the compiler's own `transpileModule` makes it, but without the
 * check of types that comes with it: a third of the time of a small cell, for code whose types were checked before.
 */
export function lightTranspile(
  compiler: CompilerPrograms,
  code: string,
  options: Compiler.CompilerOptions,
): Transpiled {
  const file = compiler.createSourceFile(fileName, code, options.target ?? 99);
  // The compiler checks no library where it is told so, and takes a file for one that is marked like this.
  file.hasNoDefaultLib = true;
  const asLibrary: Compiler.CompilerOptions = {
    ...options,
    sourceMap: true,
    skipDefaultLibCheck: true,
    isolatedModules: true,
    noLib: true,
    noResolve: true,
    suppressOutputPathCheck: true,
    allowNonTsExtensions: true,
  };
  let [outputText, sourceMapText] = ['', ''];
  const program = compiler.createProgram([fileName], asLibrary, {
    getSourceFile: (name) => (name === fileName ? file : undefined),
    writeFile: (name, text) => {
      if (name.endsWith('.map')) sourceMapText = text;
      else outputText = text;
    },
    getDefaultLibFileName: () => 'lib.d.ts',
    useCaseSensitiveFileNames: () => true,
    getCanonicalFileName: (name) => name,
    getCurrentDirectory: () => '',
    getNewLine: () => '\n',
    fileExists: (name) => name === fileName,
    readFile: () => '',
    directoryExists: () => true,
    getDirectories: () => [],
  });
  program.emit();
  return { outputText, sourceMapText };
}
