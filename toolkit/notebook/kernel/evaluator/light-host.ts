import { builtinModules } from 'node:module';
import { posix } from 'node:path';
import type * as Compiler from '@tslab/typescript-for-tslab';

/** The functions of the compiler that this needs. */
export type CompilerResolution = Pick<
  typeof Compiler,
  | 'createModuleResolutionCache'
  | 'resolveModuleName'
  | 'resolveTypeReferenceDirective'
  | 'FileWatcherEventKind'
  | 'sys'
>;

/** What the compiler asks of the program around it, as far as it is answered here. */
export interface LightHost extends Compiler.ModuleResolutionHost {
  readFile: (path: string, encoding?: string) => string | undefined;
  watchFile: (
    path: string,
    onChange: Compiler.FileWatcherCallback,
    ...rest: unknown[]
  ) => Compiler.FileWatcher;
  watchDirectory: (path: string, ...rest: unknown[]) => Compiler.FileWatcher;
  resolveModuleNameLiterals?: (
    names: readonly Compiler.StringLiteralLike[],
    containingFile: string,
    redirected: Compiler.ResolvedProjectReference | undefined,
    options: Compiler.CompilerOptions,
  ) => readonly Compiler.ResolvedModuleWithFailedLookupLocations[];
  resolveTypeReferenceDirectiveReferences?: (
    references: readonly (string | Compiler.FileReference)[],
    containingFile: string,
    redirected: Compiler.ResolvedProjectReference | undefined,
    options: Compiler.CompilerOptions,
  ) => readonly Compiler.ResolvedTypeReferenceDirectiveWithFailedLookupLocations[];
  hasInvalidatedResolutions?: (path: string) => boolean;
}

const declarationFile = /\.d\.[cm]?ts$/;
/** Declarations of the language and of Node. */
const foreignDeclarations = /[\\/]@types[\\/]node[\\/]|[\\/]lib\.[\w.]+\.d\.ts$/;
const nodeIndex = /[\\/]@types[\\/]node[\\/](?:ts[\d.]+[\\/])?index\.d\.ts$/;
/** The one file that names every module of Node, in the type of a function that cells do not call. */
const nodeProcess = /[\\/]@types[\\/]node[\\/]process\.d\.ts$/;
/** Modules of Node that declare nothing global, large ones first: read when something imports them. */
const seldomImported =
  /^\/\/\/ <reference path="((?:\.\.\/)?(inspector|http2|test|https|zlib|cluster|repl|assert|v8|wasi|sea)(?:\.generated)?\.d\.ts)" \/>$/gm;

/** Where a doc comment starts; one that follows code on its line documents nothing. */
const docComment = /^([ \t]*)\/\*\*(?!\/)/gm;

const noWatcher: Compiler.FileWatcher = { close: () => {} };

/**
 * Spares the compiler of the cells what costs a start most of its time and changes nothing in a cell: doc comments of
 * others, modules of Node that nobody imports, lookups that must fail, and watching of files that do not change.
 */
export class LightDeclarations {
  readonly #compiler: CompilerResolution;
  /** Name of a module of Node to the file that declares it. */
  readonly #seldom = new Map<string, string>();
  /** What makes the compiler read a file of declarations again. */
  readonly #reread = new Map<string, () => void>();
  #readsDocs = false;

  constructor(compiler: CompilerResolution) {
    this.#compiler = compiler;
  }

  /** The compiler's way to files. What it leaves out is replaced by blanks, so that places stay where they are. */
  get sys(): Compiler.System {
    const { sys } = this.#compiler;
    const own: Compiler.System = Object.create(sys) as Compiler.System;
    own.readFile = (path, encoding) => {
      const text = sys.readFile(path, encoding);
      if (text === undefined || !declarationFile.test(path)) return text;
      if (this.#readsDocs && !foreignDeclarations.test(path)) return text;
      return (nodeIndex.test(path) ? this.#withoutSeldom(path, text) : text).replaceAll(docComment, '$1/* ');
    };
    return own;
  }

  /** Changes what the compiler asks for while it makes programs. */
  lighten(host: LightHost): void {
    const watchFile = host.watchFile.bind(host);
    host.watchFile = (path, onChange, ...rest) => {
      if (!declarationFile.test(path) || isOfCells(path)) return watchFile(path, onChange, ...rest);
      if (!foreignDeclarations.test(path))
        this.#reread.set(path, () => onChange(path, this.#compiler.FileWatcherEventKind.Changed));
      return noWatcher;
    };
    // Lookups that failed are made again for each cell instead.
    host.watchDirectory = () => noWatcher;
    const failing = new Set<string>();
    let packages: Compiler.ModuleResolutionCache | undefined;
    host.resolveModuleNameLiterals = (names, containingFile, redirected, options) => {
      const isDeclaration = declarationFile.test(containingFile) && !isOfCells(containingFile);
      packages ??= this.#compiler.createModuleResolutionCache(process.cwd(), (name) => name, options);
      failing.delete(containingFile);
      return names.map(({ text }) => {
        const known =
          this.#moduleOfNode(text, containingFile) ?? fileOfToolkit(text, containingFile, options);
        if (known !== undefined) return known;
        const found = this.#compiler.resolveModuleName(
          text,
          containingFile,
          options,
          host,
          isDeclaration ? packages : undefined,
          redirected,
        );
        if (!isDeclaration && found.resolvedModule === undefined) failing.add(containingFile);
        return found;
      });
    };
    host.resolveTypeReferenceDirectiveReferences = (references, containingFile, redirected, options) =>
      references.map((reference) =>
        this.#compiler.resolveTypeReferenceDirective(
          typeof reference === 'string' ? reference : reference.fileName,
          containingFile,
          options,
          host,
          redirected,
        ),
      );
    host.hasInvalidatedResolutions = (path) => failing.has(path);
  }

  /** From now on with the doc comments of the toolkit and of other packages; asks the compiler to read them. */
  readDocs(): void {
    if (this.#readsDocs) return;
    this.#readsDocs = true;
    for (const reread of this.#reread.values()) reread();
    this.#reread.clear();
  }

  #withoutSeldom(index: string, text: string): string {
    return text.replaceAll(seldomImported, (line: string, path: string, name: string) => {
      this.#seldom.set(name, posix.join(posix.dirname(index), path));
      return '//'.padEnd(line.length);
    });
  }

  /** Modules of Node are declared by name, in files that are read anyway; looking for others can only fail. */
  #moduleOfNode(
    name: string,
    containingFile: string,
  ): Compiler.ResolvedModuleWithFailedLookupLocations | undefined {
    const bare = name.replace(/^node:/, '');
    if (bare === name && !builtinModules.includes(name)) return undefined;
    const file = nodeProcess.test(containingFile) ? undefined : this.#seldom.get(bare.split('/')[0]);
    return resolvedTo(file);
  }
}

/** Whether tslab keeps a file itself: what earlier cells declare. */
function isOfCells(path: string): boolean {
  return path.endsWith('/__prev__.d.ts');
}

/** A file of the toolkit names its neighbours as they are called when they run; their declarations lie beside them. */
function fileOfToolkit(
  name: string,
  containingFile: string,
  { paths = {} }: Compiler.CompilerOptions,
): Compiler.ResolvedModuleWithFailedLookupLocations | undefined {
  const [entry = ''] = paths['kelvin-per-watt'] ?? [];
  const folder = posix.dirname(entry.replaceAll('\\', '/'));
  if (!name.startsWith('.') || !name.endsWith('.js') || !containingFile.startsWith(`${folder}/`))
    return undefined;
  return resolvedTo(posix.join(posix.dirname(containingFile), name.replace(/\.js$/, '.d.ts')));
}

function resolvedTo(resolvedFileName: string | undefined): Compiler.ResolvedModuleWithFailedLookupLocations {
  return {
    resolvedModule:
      resolvedFileName === undefined
        ? undefined
        : { resolvedFileName, isExternalLibraryImport: true, extension: '.d.ts' },
  } as Compiler.ResolvedModuleWithFailedLookupLocations;
}
