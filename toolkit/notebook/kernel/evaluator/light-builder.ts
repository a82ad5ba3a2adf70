import type * as Compiler from '@tslab/typescript-for-tslab';

/** What this needs of the compiler; part of it is in its exports but not in its declarations. */
export interface CompilerBuilders {
  readonly createAbstractBuilder: (...args: unknown[]) => Builder;
  readonly bindSourceFile: (file: Compiler.SourceFile, options: Compiler.CompilerOptions) => void;
}

/** A builder as far as tslab's converter uses it. */
export interface Builder {
  emit: (
    file: unknown,
    write: unknown,
    token: unknown,
    onlyDeclarations: unknown,
    transformers: Compiler.CustomTransformers | undefined,
  ) => unknown;
  getAllDependencies: (file: Compiler.SourceFile) => readonly string[];
  readonly getSourceFile: (fileName: string) => Compiler.SourceFile | undefined;
  readonly getProgram: () => Compiler.Program;
}

interface WithResolvedModules {
  readonly resolvedModules?: {
    forEach(visit: (resolution: Resolution | undefined) => void): void;
  };
}
interface Resolution {
  readonly resolvedFileName?: string;
  readonly resolvedModule?: { readonly resolvedFileName: string };
}

/**
 * Makes programs without the compiler's record of what changed since the last one.
 *
 * tslab makes two programs for every cell and asks each for one file. The record costs a walk over all files of all
 * packages each time: more than half of a cell's time.
 */
export function lightBuilder(compiler: CompilerBuilders, args: readonly unknown[]): Builder {
  const builder = compiler.createAbstractBuilder(...args);
  const program = builder.getProgram();
  // The names a cell declares are read before its types are checked, which would have found them.
  for (const file of program.getSourceFiles())
    if (!file.isDeclarationFile) compiler.bindSourceFile(file, program.getCompilerOptions());
  builder.getAllDependencies = (file) => [...reachableFrom(file, builder)];
  return builder;
}

/** The file and the source files it imports, directly or not; declarations lead nowhere. */
function reachableFrom(file: Compiler.SourceFile, builder: Builder): ReadonlySet<string> {
  const found = new Set<string>();
  const waiting: Compiler.SourceFile[] = [file];
  for (let next = waiting.pop(); next !== undefined; next = waiting.pop()) {
    if (found.has(next.fileName) || next.isDeclarationFile) continue;
    found.add(next.fileName);
    (next as WithResolvedModules).resolvedModules?.forEach((resolution) => {
      const name = resolution?.resolvedModule?.resolvedFileName ?? resolution?.resolvedFileName;
      const imported = name === undefined ? undefined : builder.getSourceFile(name);
      if (imported !== undefined) waiting.push(imported);
    });
  }
  return found;
}
