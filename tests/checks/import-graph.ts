import { isBuiltin } from 'node:module';
import { posix } from 'node:path';
import ts from 'typescript';
import type { SourceFile } from './repository.js';

/** One import or re-export of a file. */
interface ImportOf {
  readonly specifier: string;
  readonly line: number;
  /** Erased by the compiler: `import type`, `export type`, or a type alone. */
  readonly typeOnly: boolean;
}

const BASE = ['errors', 'units', 'numerics'] as const;
const MODELS = ['runs', ...BASE] as const;
const RESULTS = ['cap', 'thermal', 'power', 'wear', ...MODELS] as const;

/** What each part of the toolkit may import besides itself. Data flows one way, from the log to the page. */
export const ALLOWED_IMPORTS: Readonly<Record<string, readonly string[]>> = {
  errors: [],
  units: ['errors'],
  numerics: ['errors'],
  runs: BASE,
  logs: ['runs', ...BASE],
  thermal: MODELS,
  power: MODELS,
  wear: MODELS,
  cap: ['thermal', 'power', ...MODELS],
  figures: RESULTS,
  // Of the logs, tables show the types of results alone: a description of columns, a study.
  report: ['figures', 'logs', ...RESULTS],
  notebook: ['index', 'node', 'logs', 'report', 'figures', ...RESULTS],
  index: ['logs', 'report', 'figures', ...RESULTS],
  node: ['index', 'logs', 'report', 'figures', 'notebook', ...RESULTS],
};

/**
 * Files that may use what only Node has; everything else in the toolkit runs unchanged in a browser. Those of `thermal`
 * spread refits over worker threads, which Node and browsers start in different ways; the refits themselves are not there.
 */
export function mayUseNode(path: string): boolean {
  return (
    /^toolkit\/thermal\/(.*\/)?[^/]*-node\.ts$/.test(path) ||
    /^toolkit\/(logs|report)\/(.*-node[^/]*|(.*\/)?record[^/]*)\.ts$/.test(path) ||
    path.startsWith('toolkit/notebook/') ||
    path === 'toolkit/node.ts'
  );
}

/** What is bundled when the package is built, and what bundles it: nothing an installed package imports. */
function isBundled(path: string): boolean {
  return (
    path.startsWith('toolkit/notebook/app/page/') ||
    /^toolkit\/notebook\/(app|panel)\/build-[\w-]+\.ts$/.test(path)
  );
}

/** Types taken from a dependency's own dependency, erased at run time: the package and what brings it. */
const BROUGHT_BY: Readonly<Record<string, string>> = { '@tslab/typescript-for-tslab': 'tslab' };

/** Names that only Node defines. */
const NODE_GLOBALS: ReadonlySet<string> = new Set([
  'Buffer',
  'process',
  'require',
  'global',
  '__dirname',
  '__filename',
  'setImmediate',
  'clearImmediate',
]);

/**
 * Everything wrong with the imports of these files of the toolkit, one sentence each with file and line.
 *
 * @param files - all files of `toolkit/`, so that every relative import can be followed
 * @param packages - packages that the toolkit may import: dependencies and peer dependencies
 * @param packagesOfThePage - packages that the bundled page of the notebook app may import as well
 */
export function importProblems(
  files: readonly SourceFile[],
  packages: readonly string[],
  packagesOfThePage: readonly string[] = [],
): readonly string[] {
  const known = new Set(files.map(({ path }) => path));
  const problems: string[] = [];
  const edges = new Map<
    string,
    { readonly to: string; readonly typeOnly: boolean; readonly line: number }[]
  >();
  const nodeUses = new Map<string, string>();

  for (const { path, text } of files) {
    const source = ts.createSourceFile(path, text, ts.ScriptTarget.Latest, true);
    const from: { to: string; typeOnly: boolean; line: number }[] = [];
    edges.set(path, from);
    for (const { specifier, line, typeOnly } of importsOf(source)) {
      const where = `${path}:${line}`;
      if (specifier.endsWith('.css') && isBundled(path)) continue;
      if (specifier.startsWith('.')) {
        const target = resolved(path, specifier, known);
        if (target === undefined) {
          problems.push(`${where} imports ${specifier}, which is no file of the toolkit`);
          continue;
        }
        from.push({ to: target, typeOnly, line });
        const problem = partProblem(partOf(path), partOf(target));
        if (problem !== undefined) problems.push(`${where} imports ${target}: ${problem}`);
        continue;
      }
      if (isBuiltin(specifier)) {
        nodeUses.set(path, `${where} imports ${specifier}`);
        continue;
      }
      const name = specifier
        .split('/')
        .slice(0, specifier.startsWith('@') ? 2 : 1)
        .join('/');
      const provider = typeOnly ? (BROUGHT_BY[name] ?? name) : name;
      const allowed = isBundled(path) ? [...packages, ...packagesOfThePage] : packages;
      if (!allowed.includes(provider))
        problems.push(`${where} imports ${name}, which is no dependency of the package`);
    }
    const nodeName = nodeGlobalIn(source);
    if (nodeName !== undefined) nodeUses.set(path, `${path}:${nodeName.line} uses ${nodeName.name}`);
  }

  for (const [path, use] of nodeUses)
    if (!mayUseNode(path)) problems.push(`${use}, but this file must run in a browser`);
  problems.push(...nodeBehindIndex(edges, nodeUses), ...cyclesOf(edges));
  return problems;
}

/** The part of the toolkit a file belongs to: its folder, or its name at the top. */
function partOf(path: string): string {
  return path.split('/')[1].replace(/\.ts$/, '');
}

function partProblem(from: string, to: string): string | undefined {
  const allowed = ALLOWED_IMPORTS[from];
  if (allowed === undefined) return `"${from}" has no place in the import graph`;
  if (from === to || allowed.includes(to)) return undefined;
  return `${from} may import ${allowed.length === 0 ? 'nothing' : allowed.join(', ')}, not ${to}`;
}

function resolved(path: string, specifier: string, known: ReadonlySet<string>): string | undefined {
  const target = posix.join(posix.dirname(path), specifier);
  return [
    target.replace(/\.js$/, '.ts'),
    target.replace(/\.js$/, '.tsx'),
    target.replace(/\.js$/, '.d.ts'),
  ].find((candidate) => known.has(candidate));
}

function importsOf(source: ts.SourceFile): readonly ImportOf[] {
  const found: ImportOf[] = [];
  const add = (node: ts.Node, specifier: ts.Node | undefined, typeOnly: boolean): void => {
    if (specifier === undefined || !ts.isStringLiteralLike(specifier)) return;
    const line = source.getLineAndCharacterOfPosition(node.getStart()).line + 1;
    found.push({ specifier: specifier.text, line, typeOnly });
  };
  const visit = (node: ts.Node): void => {
    if (ts.isImportDeclaration(node)) add(node, node.moduleSpecifier, isErased(node.importClause));
    else if (ts.isExportDeclaration(node)) add(node, node.moduleSpecifier, node.isTypeOnly);
    else if (ts.isImportEqualsDeclaration(node) && ts.isExternalModuleReference(node.moduleReference))
      add(node, node.moduleReference.expression, node.isTypeOnly);
    else if (ts.isCallExpression(node) && node.expression.kind === ts.SyntaxKind.ImportKeyword)
      add(node, node.arguments[0], false);
    else if (ts.isImportTypeNode(node) && ts.isLiteralTypeNode(node.argument))
      add(node, node.argument.literal, true);
    ts.forEachChild(node, visit);
  };
  visit(source);
  return found;
}

function isErased(clause: ts.ImportClause | undefined): boolean {
  if (clause === undefined) return false;
  if (clause.phaseModifier === ts.SyntaxKind.TypeKeyword) return true;
  const { name, namedBindings } = clause;
  return (
    name === undefined &&
    namedBindings !== undefined &&
    ts.isNamedImports(namedBindings) &&
    namedBindings.elements.length > 0 &&
    namedBindings.elements.every(({ isTypeOnly }) => isTypeOnly)
  );
}

/** The first use of a name that only Node defines, unless the file declares that name itself. */
function nodeGlobalIn(source: ts.SourceFile): { readonly name: string; readonly line: number } | undefined {
  const declared = new Set<string>();
  const uses: { name: string; line: number }[] = [];
  const visit = (node: ts.Node): void => {
    if (ts.isIdentifier(node) && NODE_GLOBALS.has(node.text)) {
      const { parent } = node;
      const isMemberName =
        (ts.isPropertyAccessExpression(parent) && parent.name === node) ||
        ((ts.isPropertyAssignment(parent) ||
          ts.isPropertySignature(parent) ||
          ts.isPropertyDeclaration(parent) ||
          ts.isMethodDeclaration(parent) ||
          ts.isMethodSignature(parent)) &&
          parent.name === node);
      const declares =
        (ts.isVariableDeclaration(parent) ||
          ts.isParameter(parent) ||
          ts.isBindingElement(parent) ||
          ts.isFunctionDeclaration(parent)) &&
        parent.name === node;
      if (declares) declared.add(node.text);
      else if (!isMemberName)
        uses.push({ name: node.text, line: source.getLineAndCharacterOfPosition(node.getStart()).line + 1 });
    }
    ts.forEachChild(node, visit);
  };
  visit(source);
  return uses.find(({ name }) => !declared.has(name));
}

type Edges = ReadonlyMap<
  string,
  readonly { readonly to: string; readonly typeOnly: boolean; readonly line: number }[]
>;

/** The public face must not reach a file that needs Node, at however many removes; types are erased and do not count. */
function nodeBehindIndex(edges: Edges, nodeUses: ReadonlyMap<string, string>): readonly string[] {
  const problems: string[] = [];
  const reachedFrom = new Map<string, string>([['toolkit/index.ts', '']]);
  for (const path of reachedFrom.keys()) {
    const use = nodeUses.get(path);
    if (use !== undefined) {
      const trail: string[] = [];
      for (let at = path; at !== ''; at = reachedFrom.get(at) ?? '') trail.unshift(at);
      problems.push(`${use}, which toolkit/index.ts reaches: ${trail.join(' → ')}`);
    }
    for (const { to, typeOnly } of edges.get(path) ?? [])
      if (!typeOnly && !reachedFrom.has(to)) reachedFrom.set(to, path);
  }
  return problems;
}

/** Cycles between files, types included: a cycle of types is one concept spread over two files. */
function cyclesOf(edges: Edges): readonly string[] {
  const problems: string[] = [];
  const settled = new Set<string>();
  const trail: string[] = [];
  const visit = (path: string): void => {
    const at = trail.indexOf(path);
    if (at >= 0) {
      problems.push(`files import each other in a circle: ${[...trail.slice(at), path].join(' → ')}`);
      return;
    }
    if (settled.has(path)) return;
    trail.push(path);
    for (const { to } of edges.get(path) ?? []) visit(to);
    trail.pop();
    settled.add(path);
  };
  for (const path of edges.keys()) visit(path);
  return problems;
}
