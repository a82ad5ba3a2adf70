import { createRequire } from 'node:module';
import { join } from 'node:path';
import type * as Typescript from '@tslab/typescript-for-tslab';
import type { CompletionInfo, Converter, ConvertResult } from 'tslab/dist/converter.js';
import type { Executor } from 'tslab/dist/executor.js';
import { type Builder, type CompilerBuilders, lightBuilder } from './light-builder.js';
import { type CompilerResolution, LightDeclarations, type LightHost } from './light-host.js';
import { type CompilerPrograms, lightTranspile } from './light-transpile.js';
import { shorthandNamesOfEarlierCells } from './shorthand-names.js';
import { type CompilerSyntax, hasTopLevelForAwait } from './top-level-for-await.js';

export type { CompletionInfo, ConvertResult, Executor };
/** What the compiler knows about a place in the code. */
export type QuickInfo = ReturnType<Executor['inspect']>;

/** Source maps of one converted cell: TypeScript to ECMAScript module, then module to CommonJS. */
export interface ConversionMaps {
  readonly toModule: string;
  readonly toCommonJs: string;
}

/** A compiler host as far as it is stood between: what it makes of the cells. */
interface WatchHost extends LightHost {
  createProgram: (...args: unknown[]) => Builder;
}

/** The functions of tslab's compiler that are stood between, and those that rewriting a cell needs. */
interface Compiler
  extends CompilerBuilders,
    CompilerResolution,
    CompilerPrograms,
    CompilerSyntax,
    Pick<typeof Typescript, 'isShorthandPropertyAssignment' | 'visitEachChild' | 'factory'> {
  readonly createWatchCompilerHost: (files: unknown, options: object, ...rest: unknown[]) => WatchHost;
  readonly transpileModule: (
    code: string,
    options: { readonly compilerOptions?: Typescript.CompilerOptions },
  ) => { readonly outputText: string };
}

const requireHere = createRequire(import.meta.url);
const requireFromTslab = createRequire(requireHere.resolve('tslab/package.json'));
const inlineMapComment = /\n?\/\/# sourceMappingURL=data:application\/json;base64,([A-Za-z0-9+/=]+)\s*$/;
const mapFileComment = /\n?\/\/# sourceMappingURL=\S+\s*$/;

let latestMaps: ConversionMaps | undefined;
const { createConverter, createExecutor, isCompleteCode, isAwaitingLoop, light } = loadParts();

/** Whether code could be run as it stands, and how its next line would be indented. */
export type Completeness =
  | { readonly status: 'complete' }
  | { readonly status: 'incomplete'; readonly indent: string };

/** Whether code could be run as it stands, for consoles that must know what the Enter key means. */
export function completenessOf(code: string): Completeness {
  const { completed, indent } = isCompleteCode(code);
  return completed ? { status: 'complete' } : { status: 'incomplete', indent: indent ?? '' };
}

/**
 * Loads tslab's converter on top of its own compiler with source maps switched on.
 *
 * tslab converts twice (TypeScript to module, module to CommonJS) and keeps no map, so a run-time error names lines
 * of the generated code. Its compiler's exports cannot be reassigned; the module cache is the place to stand between.
 */
function loadParts(): {
  createConverter: typeof import('tslab/dist/converter.js').createConverter;
  createExecutor: typeof import('tslab/dist/executor.js').createExecutor;
  isCompleteCode: typeof import('tslab/dist/converter.js').isCompleteCode;
  isAwaitingLoop: (code: string) => boolean;
  light: LightDeclarations;
} {
  const compilerPath = requireFromTslab.resolve('@tslab/typescript-for-tslab');
  const compiler = requireFromTslab(compilerPath) as Compiler;
  const entry = requireFromTslab.cache[compilerPath];
  if (entry === undefined)
    throw new Error(`the notebook's compiler is not in the module cache: ${compilerPath}`);
  const light = new LightDeclarations(compiler);
  entry.exports = {
    ...compiler,
    sys: light.sys,
    createWatchCompilerHost: withInlineMaps(compiler, light),
    transpileModule: keepingMaps(compiler),
  };
  try {
    const converter = requireHere('tslab/dist/converter') as typeof import('tslab/dist/converter.js');
    return {
      createConverter: converter.createConverter,
      isCompleteCode: converter.isCompleteCode,
      createExecutor: (requireHere('tslab/dist/executor') as typeof import('tslab/dist/executor.js'))
        .createExecutor,
      isAwaitingLoop: (code) => hasTopLevelForAwait(compiler, code),
      light,
    };
  } finally {
    entry.exports = compiler;
  }
}

function withInlineMaps(compiler: Compiler, light: LightDeclarations): Compiler['createWatchCompilerHost'] {
  return (files, options, ...rest) => {
    const host = compiler.createWatchCompilerHost(
      files,
      // Without a list every package of types that happens to be installed is read: seconds at each start.
      { ...options, inlineSourceMap: true, paths: toolkitDeclarations(), types: ['node'] },
      ...rest,
    );
    light.lighten(host);
    startWithPrelude(host);
    host.createProgram = (...args) => withShorthandNames(compiler, lightBuilder(compiler, args));
    return host;
  };
}

/** Lets the first program read the toolkit's declarations too, so that the first cell need not change it. */
function startWithPrelude(host: WatchHost): void {
  const readFile = host.readFile.bind(host);
  host.readFile = (path, encoding) => {
    if (!path.endsWith('/__prev__.d.ts')) return readFile(path, encoding);
    host.readFile = readFile;
    return prelude.declarations;
  };
}

function withShorthandNames(compiler: Compiler, builder: Builder): Builder {
  const emit = builder.emit.bind(builder);
  builder.emit = (file, write, token, onlyDeclarations, transformers) => {
    const names = shorthandNamesOfEarlierCells(compiler, builder.getProgram().getTypeChecker());
    return emit(file, write, token, onlyDeclarations, {
      ...transformers,
      before: [names, ...(transformers?.before ?? [])],
    });
  };
  return builder;
}

/** Where the compiler finds the toolkit's types: beside the very files that `require` gives the cells. */
function toolkitDeclarations(): Record<string, string[]> {
  const { resolve } = createRequire(join(process.cwd(), 'cell.js'));
  const names = ['kelvin-per-watt', 'kelvin-per-watt/node'];
  return Object.fromEntries(names.map((name) => [name, [resolve(name).replace(/\.js$/, '.d.ts')]]));
}

function keepingMaps(compiler: Compiler): Compiler['transpileModule'] {
  return (moduleCode, options) => {
    const toModule = inlineMapComment.exec(moduleCode)?.[1];
    const { outputText, sourceMapText } = lightTranspile(
      compiler,
      moduleCode.replace(inlineMapComment, ''),
      options.compilerOptions ?? {},
    );
    latestMaps =
      toModule === undefined
        ? undefined
        : { toModule: Buffer.from(toModule, 'base64').toString('utf8'), toCommonJs: sourceMapText };
    return { outputText: outputText.replace(mapFileComment, '') };
  };
}

/** What an evaluator adds to each conversion: called with the result and its source maps, returns what to run. */
export type ConversionHook = (
  convert: () => { readonly result: ConvertResult; readonly maps: ConversionMaps | undefined },
) => ConvertResult;

/** The toolkit in every notebook: both entries are one namespace, "kelvin-per-watt/node" holds everything. */
const prelude = {
  declarations: 'import * as kpw from "kelvin-per-watt/node";\n',
  output: 'exports.kpw = { ...require("kelvin-per-watt/node") };',
};

/** tslab's executor on its converter. */
export interface TslabExecutor extends Executor {
  /** Makes the toolkit known as `kpw`, without the compiler: its declarations are read before the first cell. */
  loadToolkit(): Promise<boolean>;
  /** Compiles something, so that the first cell finds the work done that every cell needs; later it does nothing. */
  warmUp(): void;
}

/** tslab's executor on its converter, rooted in the working directory; `write` receives values and errors. */
export function createTslabExecutor(options: {
  readonly workingDirectory: string;
  readonly onConvert: ConversionHook;
  readonly onValue: (value: unknown) => void;
  readonly onError: (error: unknown) => void;
}): TslabExecutor {
  const converter = createConverter({ isJS: false, isBrowser: false });
  let isWarm = false;
  const node: Converter = {
    ...converter,
    convert: (previousDeclarations, code) =>
      code === prelude.declarations
        ? { output: prelude.output, declOutput: prelude.declarations, diagnostics: [] }
        : options.onConvert(() => {
            isWarm = true;
            latestMaps = undefined;
            const result = converter.convert(previousDeclarations, code);
            // tslab looks for `await` before expressions only, and would run the loop in a function that cannot wait.
            const hasToplevelAwait = result.hasToplevelAwait === true || isAwaitingLoop(code);
            return { result: { ...result, hasToplevelAwait }, maps: latestMaps };
          }),
  };
  // Cells run in Node; a browser converter would cost another compiler and is not used.
  const converters = { node, browser: node, close: () => converter.close() };
  const executor = createExecutor(options.workingDirectory, converters, {
    log: options.onValue,
    error: options.onError,
  });
  return {
    ...executor,
    inspect(code, position) {
      light.readDocs();
      return executor.inspect(code, position);
    },
    loadToolkit: () => executor.execute(prelude.declarations),
    warmUp() {
      if (!isWarm) converter.convert(prelude.declarations, 'typeof kpw');
      isWarm = true;
    },
  };
}
