import ts from 'typescript';
import { REPOSITORY } from './repository.js';

/** One name that a file of the toolkit exports. */
export interface ToolkitSymbol {
  readonly name: string;
  /** Something that exists when the program runs, not a type alone. */
  readonly isValue: boolean;
  readonly declaration: ts.Declaration;
  /** Relative to the repository. */
  readonly path: string;
  /** Line of the declaration, 1-based. */
  readonly line: number;
}

/** The public face of the toolkit as the compiler sees it. */
export interface PublicFace {
  readonly program: ts.Program;
  readonly options: ts.CompilerOptions;
  /** What a person can import from the package. */
  readonly symbols: readonly ToolkitSymbol[];
  /** What only the toolkit itself can import. */
  readonly innerSymbols: readonly ToolkitSymbol[];
}

/** The compiler options of the repository. */
export function compilerOptions(): ts.CompilerOptions {
  const configPath = `${REPOSITORY}tsconfig.json`;
  const { config } = ts.readConfigFile(configPath, ts.sys.readFile);
  const { options } = ts.parseJsonConfigFileContent(
    { ...config, include: [], files: [] },
    ts.sys,
    REPOSITORY,
  );
  return { ...options, incremental: false, tsBuildInfoFile: undefined, noEmit: true };
}

let face: PublicFace | undefined;

/** Reads the public face; once per test file, since it takes the compiler a few seconds. */
export function publicFace(): PublicFace {
  face ??= readPublicFace();
  return face;
}

function readPublicFace(): PublicFace {
  const options = compilerOptions();
  const entries = ['toolkit/index.ts', 'toolkit/node.ts'].map((path) => REPOSITORY + path);
  const program = ts.createProgram(entries, options);
  const symbols = exportsOf(program, entries[1]);
  const isPublic = new Set(symbols.map(({ declaration }) => declaration));
  const innerSymbols = program
    .getSourceFiles()
    .map(({ fileName }) => fileName)
    .filter((path) => path.startsWith(`${REPOSITORY}toolkit/`) && !entries.includes(path))
    .flatMap((path) => exportsOf(program, path))
    .filter(({ declaration }) => !isPublic.has(declaration));
  return { program, options, symbols, innerSymbols };
}

function exportsOf(program: ts.Program, file: string): readonly ToolkitSymbol[] {
  const checker = program.getTypeChecker();
  const module = program.getSourceFile(file);
  const symbol = module === undefined ? undefined : checker.getSymbolAtLocation(module);
  const exported = symbol === undefined ? [] : checker.getExportsOfModule(symbol);
  return exported.flatMap((one): ToolkitSymbol[] => {
    const target = (one.flags & ts.SymbolFlags.Alias) === 0 ? one : checker.getAliasedSymbol(one);
    const declaration = target.declarations?.[0];
    if (declaration === undefined) return [];
    const source = declaration.getSourceFile();
    return [
      {
        name: one.name,
        isValue: (target.flags & ts.SymbolFlags.Value) !== 0,
        declaration,
        path: source.fileName.replace(REPOSITORY, ''),
        line: source.getLineAndCharacterOfPosition(declaration.getStart()).line + 1,
      },
    ];
  });
}
