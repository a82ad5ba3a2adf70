import ts from 'typescript';
import { REPOSITORY } from './repository.js';

/** One name that a person can import from the package. */
export interface PublicSymbol {
  readonly name: string;
  /** From "kelvin-per-watt/node" only. */
  readonly nodeOnly: boolean;
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
  readonly symbols: readonly PublicSymbol[];
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
  const checker = program.getTypeChecker();
  const exportsOf = (path: string): readonly ts.Symbol[] => {
    const source = program.getSourceFile(path);
    const symbol = source === undefined ? undefined : checker.getSymbolAtLocation(source);
    return symbol === undefined ? [] : checker.getExportsOfModule(symbol);
  };
  const browserNames = new Set(exportsOf(entries[0]!).map(({ name }) => name));
  const symbols = exportsOf(entries[1]!).flatMap((exported): PublicSymbol[] => {
    const target =
      (exported.flags & ts.SymbolFlags.Alias) === 0 ? exported : checker.getAliasedSymbol(exported);
    const declaration = target.declarations?.[0];
    if (declaration === undefined) return [];
    const source = declaration.getSourceFile();
    return [
      {
        name: exported.name,
        nodeOnly: !browserNames.has(exported.name),
        isValue: (target.flags & ts.SymbolFlags.Value) !== 0,
        declaration,
        path: source.fileName.replace(REPOSITORY, ''),
        line: source.getLineAndCharacterOfPosition(declaration.getStart()).line + 1,
      },
    ];
  });
  return { program, options, symbols };
}
